import { closeSync, openSync, renameSync, rmSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import { fileWriter } from 'hyparquet-writer';
import type { Block } from '../block.ts';
import { columnsOf, tableRows } from '../tables/columns.ts';
import { csvLine } from '../tables/csv.ts';
import { parquetTable } from '../tables/parquet.ts';
import { onDisk, type StudyFolder } from './studyFolder.ts';

/**
 * Writes all rows that are there as `rows.csv` and `rows.parquet`, in the order of the plan, block by block.
 *
 * @returns the paths of both files
 */
export async function writeTables(folder: StudyFolder, blocks: readonly Block[]): Promise<string[]> {
  const { plan } = folder;
  const columns = columnsOf(plan);
  const csvPath = join(folder.path, 'rows.csv');
  const parquetPath = join(folder.path, 'rows.parquet');
  const provenance = { study: plan.study.id, studyHash: plan.hash, version: folder.version };
  onDisk(folder.path, () => {
    const csv = openSync(`${csvPath}.part`, 'w');
    try {
      const parquet = parquetTable(fileWriter(`${parquetPath}.part`), columns, provenance);
      writeSync(csv, `${csvLine(columns.map(({ name }) => name))}\n`);
      for (const block of blocks) {
        const rows = folder.rows(block);
        if (!rows) continue;
        const cells = tableRows(plan, block, rows);
        writeSync(csv, cells.map((row) => `${csvLine(row)}\n`).join(''));
        parquet.add(cells);
      }
      parquet.finish();
      renameSync(`${csvPath}.part`, csvPath);
      renameSync(`${parquetPath}.part`, parquetPath);
    } finally {
      closeSync(csv);
      for (const path of [csvPath, parquetPath]) rmSync(`${path}.part`, { force: true });
    }
  });
  return [csvPath, parquetPath];
}
