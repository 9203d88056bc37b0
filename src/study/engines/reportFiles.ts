import { join } from 'node:path';
import { gatherBlocks, type StudyState } from '../drive.ts';
import { reportPage } from '../report/page.ts';
import { summarise } from '../summary.ts';
import { csvLine } from '../tables/csv.ts';
import { summaryRows } from '../tables/summaryTables.ts';
import { type StudyFolder, writeWhole } from './studyFolder.ts';
import { writeTables } from './tableFiles.ts';

/** Writes rows.csv, rows.parquet, summary.csv and report.html of what a folder holds; returns their paths. */
export async function writeReport(folder: StudyFolder, state: StudyState): Promise<string[]> {
  const tables = await writeTables(folder, state.blocks);
  const gathered = gatherBlocks(folder, state.blocks);
  const summary = summarise(folder.plan, gathered);
  const summaryPath = join(folder.path, 'summary.csv');
  const reportPath = join(folder.path, 'report.html');
  const lines = summaryRows(folder.plan, summary, folder.version).map(csvLine);
  writeWhole(summaryPath, `${lines.join('\n')}\n`);
  writeWhole(reportPath, reportPage(folder.plan, gathered, summary, folder.version, state.finished));
  return [...tables, summaryPath, reportPath];
}
