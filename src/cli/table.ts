/** Lays out rows of text in columns; the first column is flush left, the rest flush right. */
export function textTable(rows: readonly (readonly string[])[]): string {
  const widths = rows[0].map((_, column) => Math.max(...rows.map((row) => [...row[column]].length)));
  const pad = (text: string, column: number) => {
    const space = ' '.repeat(widths[column] - [...text].length);
    return column === 0 ? text + space : space + text;
  };
  return rows.map((row) => row.map(pad).join('  ').trimEnd()).join('\n');
}

/** Writes rows as comma-separated values (RFC 4180); null and NaN become empty. */
export function csvTable(rows: readonly (readonly (string | number | null)[])[]): string {
  const cell = (value: string | number | null) => {
    if (value === null || (typeof value === 'number' && !Number.isFinite(value))) return '';
    const text = String(value);
    return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
  };
  return rows.map((row) => row.map(cell).join(',')).join('\n');
}

/** A number with so many decimals, or a dash. */
export function shown(value: number | null | undefined, decimals: number): string {
  return value === null || value === undefined || !Number.isFinite(value) ? '–' : value.toFixed(decimals);
}

/** A JSON number; null where there is none. */
export function orNull(value: number): number | null {
  return Number.isFinite(value) ? value : null;
}
