import { ParquetWriter, schemaFromColumnData, type Writer } from 'hyparquet-writer';
import type { Cell, Column } from './columns.ts';

/** A Parquet file that is written a group of rows at a time, so that its length costs no memory. */
export interface ParquetTable {
  add(rows: readonly (readonly Cell[])[]): void;
  finish(): void;
}

const GROUP_ROWS = 20000;

/**
 * Opens a Parquet table.
 *
 * @param writer - takes the bytes   @param provenance - key and value pairs of the file
 */
export function parquetTable(
  writer: Writer,
  columns: readonly Column[],
  provenance: Record<string, string>,
): ParquetTable {
  const empty = columns.map(({ name, type }) => ({ name, data: [] as Cell[], type, nullable: true }));
  const file = new ParquetWriter({
    writer,
    schema: schemaFromColumnData({ columnData: empty }),
    kvMetadata: Object.entries(provenance).map(([key, value]) => ({ key, value })),
    createdBy: 'Sweepwise',
  });
  let waiting: (readonly Cell[])[] = [];

  function flush(): void {
    if (waiting.length === 0) return;
    const columnData = columns.map(({ name, type }, c) => ({
      name,
      data: waiting.map((row) => (row[c] !== null && type === 'STRING' ? String(row[c]) : row[c])),
    }));
    file.write({ columnData, rowGroupSize: GROUP_ROWS });
    waiting = [];
  }

  return {
    add(rows) {
      for (const row of rows) waiting.push(row);
      if (waiting.length >= GROUP_ROWS) flush();
    },
    finish() {
      flush();
      file.finish();
    },
  };
}
