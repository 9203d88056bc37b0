/** A number split where its uncertainty begins: the firm digits, and those that say little. */
export interface HonestNumber {
  firm: string;
  faint: string;
}

/**
 * Writes a number so that its uncertainty shows: digits below the size of the standard deviation are set apart.
 *
 * The digit at the place of the deviation's first one is still firm, those after it are faint. Without a deviation all
 * digits are faint.
 *
 * @param decimals - digits after the point
 * @example honestNumber(5.6234, 0.08, 3) // { firm: '5.62', faint: '3' }
 * @example honestNumber(312.4, 41, 0) // { firm: '31', faint: '2' }
 */
export function honestNumber(value: number, sd: number, decimals: number): HonestNumber {
  if (!Number.isFinite(value)) return { firm: '–', faint: '' };
  const text = value.toFixed(decimals).replace('-', '−');
  if (sd === 0) return { firm: text, faint: '' };
  if (!(sd > 0)) return { firm: '', faint: text };
  const place = Math.floor(Math.log10(sd)); // of the first digit of the deviation: −2 for 0.08, 1 for 41
  const point = text.includes('.') ? text.indexOf('.') : text.length;
  const firmLength = place < 0 ? point + 1 - place : point - place;
  if (firmLength <= (text.startsWith('−') ? 1 : 0)) return { firm: '', faint: text };
  return { firm: text.slice(0, firmLength), faint: text.slice(firmLength) };
}
