/** A noise or voltage, given in µV, in the unit that reads best; a dash for what cannot be told yet. */
export function voltageText(uv: number): string {
  if (!Number.isFinite(uv)) return '–';
  const size = Math.abs(uv);
  if (size < 0.9995) return `${decimalText(1000 * uv, size < 0.00995 ? 1 : 0)} nV`;
  return `${decimalText(uv, size < 9.995 ? 2 : size < 99.95 ? 1 : 0)} µV`;
}

/** A plain number with a fixed count of decimals; a dash for what cannot be told. */
export function decimalText(value: number, decimals: number): string {
  return Number.isFinite(value) ? value.toFixed(decimals).replace('-', '−') : '–';
}

/** Seconds, with a decimal while there are few of them. */
export function secondsText(seconds: number): string {
  if (!Number.isFinite(seconds)) return '–';
  return `${seconds.toFixed(seconds < 9.95 ? 1 : 0)} s`;
}

/** A whole number with thin spaces between thousands. */
export function countText(count: number): string {
  if (!Number.isFinite(count)) return '–';
  return String(Math.round(count)).replace(/\B(?=(\d{3})+$)/g, '\u2009');
}

/** How a label at x of an axis is anchored so that it stays within a picture of that width. */
export function anchorAt(x: number, width: number): 'middle' | 'end' {
  return x > width - 16 ? 'end' : 'middle';
}

/** A number for an axis: no trailing zeros, a true minus sign. */
export function tickText(value: number): string {
  return String(Number(value.toPrecision(6))).replace('-', '−');
}
