import { closeSync, openSync, renameSync, rmSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import { fileWriter } from 'hyparquet-writer';
import type { Block } from '../block.ts';
import { blockLine, headLine } from '../resultsFile.ts';
import { columnsOf, tableRows } from '../tables/columns.ts';
import { parquetTable } from '../tables/parquet.ts';
import { csvHeader, csvOfBlock } from '../tables/rowsCsv.ts';
import { onDisk, type StudyFolder } from './studyFolder.ts';

/**
 * Writes all rows that are there as `rows.csv`, `rows.parquet` and `results.jsonl`, in the order of the plan, block by
 * block. The last opens on the page.
 *
 * @returns the paths of the files
 */
export async function writeTables(folder: StudyFolder, blocks: readonly Block[]): Promise<string[]> {
  const { plan, version } = folder;
  const paths = ['rows.csv', 'rows.parquet', 'results.jsonl'].map((name) => join(folder.path, name));
  const [csvPart, parquetPart, resultsPart] = paths.map((path) => `${path}.part`);
  const provenance = { study: plan.study.id, studyHash: plan.hash, version };
  onDisk(folder.path, () => {
    const handles: number[] = [];
    const opened = (path: string) => {
      const handle = openSync(path, 'w');
      handles.push(handle);
      return (text: string) => writeAll(handle, text);
    };
    try {
      const csv = opened(csvPart);
      const results = opened(resultsPart);
      const parquet = parquetTable(fileWriter(parquetPart), columnsOf(plan), provenance);
      csv(csvHeader(plan));
      results(headLine(plan, version));
      for (const block of blocks) {
        const rows = folder.rows(block);
        if (!rows) continue;
        csv(csvOfBlock(plan, block, rows));
        results(blockLine(rows));
        parquet.add(tableRows(plan, block, rows));
      }
      parquet.finish();
      for (const path of paths) renameSync(`${path}.part`, path);
    } finally {
      for (const handle of handles) closeSync(handle);
      for (const path of paths) rmSync(`${path}.part`, { force: true });
    }
  });
  return paths;
}

/** A disk that is nearly full takes part of a text. */
function writeAll(handle: number, text: string): void {
  const bytes = Buffer.from(text);
  for (let at = 0; at < bytes.length; ) at += writeSync(handle, bytes, at);
}
