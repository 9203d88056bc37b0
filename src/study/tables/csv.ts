import type { Cell } from './columns.ts';

/** One line of comma-separated values (RFC 4180): quoted only where needed, nothing where there is no value. */
export function csvLine(cells: readonly Cell[]): string {
  return cells.map(csvCell).join(',');
}

function csvCell(cell: Cell): string {
  if (cell === null || (typeof cell === 'number' && !Number.isFinite(cell))) return '';
  const text = String(cell);
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}
