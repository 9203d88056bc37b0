import { driveStudy } from '../study/drive.ts';
import { codeVersion } from '../study/engines/codeVersion.ts';
import { writeReport } from '../study/engines/reportFiles.ts';
import { existingStudyFolder } from '../study/engines/studyFolder.ts';
import { parseArguments, UsageError } from './arguments.ts';
import { STRATEGY_LOADER } from './strategyLoader.ts';

/** Writes tables and page of what a folder holds so far. */
export async function studyReportCommand(words: string[], version: string): Promise<number> {
  const parsed = parseArguments(words, { help: 'flag' });
  if (parsed.flag('help')) {
    process.stdout.write(
      'usage: sweepwise study report FOLDER\n\nWrites rows.csv, rows.parquet, summary.csv and report.html.\n',
    );
    return 0;
  }
  const [place, ...more] = parsed.positionals;
  if (place === undefined || more.length > 0) {
    throw new UsageError(`study report: takes one folder of results, got ${parsed.positionals.join(' ') || 'none'}`);
  }
  const folder = await existingStudyFolder(place, codeVersion(version), STRATEGY_LOADER);
  const signal = new AbortController().signal;
  const state = await driveStudy({ store: folder, engine: null, signal, progress: () => {}, note: () => {} });
  process.stdout.write(`${(await writeReport(folder, state)).join('\n')}\n`);
  return 0;
}
