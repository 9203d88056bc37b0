/**
 * Measures how far a stimulus rate keeps away from locking with the mains.
 *
 *     d = min over h = 1 … H of | h·f/r − round(h·f/r) |
 *
 * In the mean of N sweeps harmonic h is left with |sin(πNx)/(N·sin(πx))| of its size, x = h·f/r; near a whole x all of
 * it stays. d counts in turns of phase from sweep to sweep: 0 is locked, ½ is as far as one can be. It knows neither
 * the size of a harmonic nor the wander of the supply: wander moves h·f/r by h·wander/r. A trace of every other
 * stimulus, such as one polarity out of two, has the rate r/2. Source: the sum of a geometric series, common practice.
 *
 * @param ratePerS - stimuli per second   @param lineHz - frequency of the supply   @param harmonicCount - H
 * @returns 0 … ½   @throws {RangeError} if an argument is not > 0, or harmonicCount not a whole number
 * @example lockDistance(25, 50, 7) // 0
 */
export function lockDistance(ratePerS: number, lineHz: number, harmonicCount: number): number {
  if (!(ratePerS > 0 && ratePerS < Infinity))
    throw new RangeError(`lockDistance: ratePerS must be > 0, got ${ratePerS}`);
  if (!(lineHz > 0 && lineHz < Infinity)) throw new RangeError(`lockDistance: lineHz must be > 0, got ${lineHz}`);
  if (!(harmonicCount >= 1 && Number.isInteger(harmonicCount))) {
    throw new RangeError(`lockDistance: harmonicCount must be a whole number >= 1, got ${harmonicCount}`);
  }
  let nearest = 0.5;
  for (let h = 1; h <= harmonicCount; h++) {
    const turns = (h * lineHz) / ratePerS;
    nearest = Math.min(nearest, Math.abs(turns - Math.round(turns)));
  }
  return nearest;
}
