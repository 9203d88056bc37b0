import { fCritical } from '../../core/quality/fDistribution.ts';
import type { Interval } from './bootstrap.ts';

/**
 * A rate with its exact 95 % interval: at least 95 %, whatever the true rate and however few the runs.
 *
 *     low = k / (k + (n − k + 1)·F₂(n−k+1),2k),   high = (k + 1)·F₂(k+1),2(n−k) / (n − k + (k + 1)·F₂(k+1),2(n−k))
 *
 * with the upper 2.5 % points of F. C. J. Clopper and E. S. Pearson, Biometrika 26(4), 1934, doi 10.1093/biomet/26.4.404.
 *
 * @param happened - k   @param count - n   @returns NaN for n = 0   @throws {RangeError} unless 0 ≤ k ≤ n, whole numbers
 * @example exactRate(0, 20) // { value: 0, low: 0, high: 0.1684 }
 */
export function exactRate(happened: number, count: number): Interval {
  if (!(Number.isInteger(happened) && Number.isInteger(count) && happened >= 0 && happened <= count)) {
    throw new RangeError(`exactRate: must be whole numbers 0 <= happened <= count, got ${happened} of ${count}`);
  }
  if (count === 0) return { value: NaN, low: NaN, high: NaN };
  const others = count - happened;
  const low =
    happened === 0 ? 0 : happened / (happened + (others + 1) * fCritical(2 * (others + 1), 2 * happened, 0.025));
  const f = others === 0 ? Infinity : fCritical(2 * (happened + 1), 2 * others, 0.025);
  const high = others === 0 ? 1 : ((happened + 1) * f) / (others + (happened + 1) * f);
  return { value: happened / count, low, high };
}
