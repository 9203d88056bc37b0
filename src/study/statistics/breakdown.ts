/**
 * The value at which a curve first crosses a limit, by a straight line between its points.
 *
 * @param xs - rising   @param ys - same length; NaN ends the search: nothing is known beyond
 * @returns x where y first reaches the limit from below; null if it never does, the first x if it begins there
 * @example crossing([0, 1, 2], [1, 1.5, 3], 2) // 1.3333
 */
export function crossing(xs: readonly number[], ys: readonly number[], limit: number): number | null {
  for (let k = 0; k < xs.length; k++) {
    if (Number.isNaN(ys[k])) return null;
    if (ys[k] < limit) continue;
    if (k === 0) return xs[0];
    const share = (limit - ys[k - 1]) / (ys[k] - ys[k - 1]);
    return xs[k - 1] + share * (xs[k] - xs[k - 1]);
  }
  return null;
}
