import { exp, PI } from '../../core/elementary.ts';

/**
 * Probability that a standard normal number exceeds z.
 *
 *     Q(z) = ½ − φ(z)·(z + z³/3 + z⁵/15 + …)  for |z| < 3,   φ(z)/(z + 1/(z + 2/(z + 3/(z + …))))  beyond
 *
 * Both from M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, 1964, 26.2.11 and 26.2.14.
 *
 * @returns 0 … 1; NaN for NaN   @example normalUpperTail(1.959963984540054) // 0.025
 */
export function normalUpperTail(z: number): number {
  if (z < 0) return 1 - normalUpperTail(-z);
  const density = exp(-0.5 * z * z) / Math.sqrt(2 * PI);
  if (z < 3) {
    let term = z;
    let sum = z;
    for (let n = 3; term > 1e-17 * sum; n += 2) {
      term *= (z * z) / n;
      sum += term;
    }
    return 0.5 - density * sum;
  }
  let fraction = z;
  for (let n = 200; n >= 1; n--) fraction = z + n / fraction;
  return density / fraction;
}

/**
 * The standard normal number below which lies the share p: the inverse of the distribution function, by bisection.
 *
 * @param p - 0 < p < 1   @throws {RangeError} otherwise   @example normalQuantile(0.975) // 1.96
 */
export function normalQuantile(p: number): number {
  if (!(p > 0 && p < 1)) throw new RangeError(`normalQuantile: p must lie between 0 and 1, got ${p}`);
  let low = -9;
  let high = 9;
  for (let k = 0; k < 80; k++) {
    const middle = (low + high) / 2;
    if (normalUpperTail(middle) > 1 - p) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
