/** Cubic splines that cover a stretch of samples: at most four of them are above 0 at any sample. */
export interface SplineBasis {
  /** Number of the first of the four at sample i. */
  first(i: number): number;
  /** Value at sample i of the spline `first(i) + j`, j = 0 … 3. */
  value(i: number, j: number): number;
}

/**
 * Makes evenly spaced cubic B-splines over `length` samples; at every sample they add up to 1.
 *
 * Formula of the uniform cubic B-spline (C. de Boor, A Practical Guide to Splines, 1978, from memory). Detail finer
 * than two spaces between knots, 2·length/(count − 3) samples, cannot be expressed.
 *
 * @throws {RangeError} if count < 4 or length < 1
 */
export function splineBasis(count: number, length: number): SplineBasis {
  if (!(count >= 4)) throw new RangeError(`splineBasis: count must be >= 4, got ${count}`);
  if (!(length >= 1)) throw new RangeError(`splineBasis: length must be >= 1, got ${length}`);
  const firsts = new Uint16Array(length);
  const values = new Float64Array(4 * length);
  for (let i = 0; i < length; i++) {
    const position = ((count - 3) * (i + 0.5)) / length;
    firsts[i] = Math.min(count - 4, Math.floor(position));
    const u = position - firsts[i];
    const v = 1 - u;
    values[4 * i] = (v * v * v) / 6;
    values[4 * i + 1] = (3 * u * u * u - 6 * u * u + 4) / 6;
    values[4 * i + 2] = (3 * v * v * v - 6 * v * v + 4) / 6;
    values[4 * i + 3] = (u * u * u) / 6;
  }
  return { first: (i) => firsts[i], value: (i, j) => values[4 * i + j] };
}
