/**
 * Marks the points that no other point beats: as good in every coordinate and better in one. Small is good.
 *
 * @param points - [point][coordinate]   @returns true for the points on the front; NaN is never on it
 * @example paretoFront([[1, 2], [2, 1], [2, 2]]) // [true, true, false]
 */
export function paretoFront(points: readonly (readonly number[])[]): boolean[] {
  return points.map(
    (point) => !point.some((value) => Number.isNaN(value)) && !points.some((other) => dominates(other, point)),
  );
}

function dominates(a: readonly number[], b: readonly number[]): boolean {
  let better = false;
  for (let k = 0; k < a.length; k++) {
    if (!(a[k] <= b[k])) return false;
    if (a[k] < b[k]) better = true;
  }
  return better;
}

/** An ellipse: centre, half axes, and the turn of the first axis in radians as its cosine and sine. */
export interface Ellipse {
  x: number;
  y: number;
  major: number;
  minor: number;
  cosine: number;
  sine: number;
}

const CHI_SQUARE_95 = 5.991464547107979; // 2 degrees of freedom: −2·ln 0.05

/** The ellipse that holds 95 % of a cloud of points, taken as normal. Degenerate clouds give axes of 0. */
export function cloudEllipse(xs: readonly number[], ys: readonly number[]): Ellipse {
  const count = xs.length;
  const x = xs.reduce((sum, value) => sum + value, 0) / count;
  const y = ys.reduce((sum, value) => sum + value, 0) / count;
  let xx = 0;
  let yy = 0;
  let xy = 0;
  for (let k = 0; k < count; k++) {
    xx += ((xs[k] - x) * (xs[k] - x)) / (count - 1);
    yy += ((ys[k] - y) * (ys[k] - y)) / (count - 1);
    xy += ((xs[k] - x) * (ys[k] - y)) / (count - 1);
  }
  const middle = (xx + yy) / 2;
  const spread = Math.sqrt(((xx - yy) / 2) * ((xx - yy) / 2) + xy * xy);
  const axis = (variance: number) => Math.sqrt(CHI_SQUARE_95 * Math.max(0, variance));
  // Half-angle formulas turn the covariance into the direction of its first axis without trigonometry.
  const cosineDouble = spread > 0 ? (xx - yy) / 2 / spread : 1;
  const cosine = Math.sqrt(Math.max(0, (1 + cosineDouble) / 2));
  const sine = Math.sqrt(Math.max(0, (1 - cosineDouble) / 2)) * (xy < 0 ? -1 : 1);
  return { x, y, major: axis(middle + spread), minor: axis(middle - spread), cosine, sine };
}
