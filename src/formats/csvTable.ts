/** Writes rows as comma-separated values (RFC 4180); null and NaN become empty. */
export function csvTable(rows: readonly (readonly (string | number | null)[])[]): string {
  const cell = (value: string | number | null) => {
    if (value === null || (typeof value === 'number' && !Number.isFinite(value))) return '';
    const text = String(value);
    return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
  };
  return rows.map((row) => row.map(cell).join(',')).join('\n');
}
