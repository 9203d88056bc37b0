export { csvTable } from '../formats/csvTable.ts';

/** Lays out rows of text in columns; the columns named, by default the first, are flush left, the rest flush right. */
export function textTable(rows: readonly (readonly string[])[], left: readonly number[] = [0]): string {
  const widths = rows[0].map((_, column) => Math.max(...rows.map((row) => [...row[column]].length)));
  const pad = (text: string, column: number) => {
    const space = ' '.repeat(widths[column] - [...text].length);
    return left.includes(column) ? text + space : space + text;
  };
  return rows.map((row) => row.map(pad).join('  ').trimEnd()).join('\n');
}

/** A number with so many decimals, or a dash. */
export function shown(value: number | null | undefined, decimals: number): string {
  return value === null || value === undefined || !Number.isFinite(value) ? '–' : value.toFixed(decimals);
}

/** A JSON number; null where there is none. */
export function orNull(value: number): number | null {
  return Number.isFinite(value) ? value : null;
}
