/** One point of a breakdown curve. */
export interface BreakdownPoint {
  /** How much there is of what breaks the strategy: share of bad sweeps, burst size … */
  level: number;
  /** Expected residual noise, any unit. */
  noise: number;
  gain: number;
  /** Interval of the gain over replicates: noise alone scatters it. Left out, the gain counts as exact. */
  gainLow?: number;
  gainHigh?: number;
}

/** Where a strategy breaks down. */
export interface Breakdown {
  /** ε*: the level at which it does; Infinity if it holds over the whole curve, NaN if that cannot be told. */
  level: number;
  cause: 'noise' | 'gain' | 'none' | 'cannot-tell';
}

const NOISE_FACTOR = 2; // × the noise of the first point
const GAIN_TOLERANCE = 0.1; // the response is off by more than a tenth

/**
 * Finds ε*: the level from which on the expected noise has doubled or the gain is off by more than a tenth.
 *
 * A gain counts as off only if its whole interval is. The first crossing counts, on straight lines between points. The first point is the reference and must itself hold.
 *
 * @param curve - levels in rising order; a NaN gain (no response) cannot be off
 * @throws {RangeError} for fewer than 2 points, or levels that do not rise
 * @example breakdownLevel([{ level: 0, noise: 10, gain: 1 }, { level: 1, noise: 30, gain: 1 }]).level // 0.5
 */
export function breakdownLevel(curve: readonly BreakdownPoint[]): Breakdown {
  if (!(curve.length >= 2)) throw new RangeError(`breakdownLevel: needs at least 2 points, got ${curve.length}`);
  const excessNoise = ({ noise }: BreakdownPoint) => noise / curve[0].noise - NOISE_FACTOR;
  const excessGain = ({ gain, gainLow = gain, gainHigh = gain }: BreakdownPoint) =>
    Math.max(gainLow - 1, 1 - gainHigh) - GAIN_TOLERANCE;
  if (excessGain(curve[0]) > 0) return { level: curve[0].level, cause: 'gain' };
  for (let j = 1; j < curve.length; j++) {
    const before = curve[j - 1];
    const here = curve[j];
    if (!(here.level > before.level)) {
      throw new RangeError(`breakdownLevel: levels must rise, got ${here.level} after ${before.level}`);
    }
    const crossing = (excess: (point: BreakdownPoint) => number) => {
      const end = excess(here);
      if (!(end > 0)) return Infinity;
      const start = excess(before);
      return before.level + ((here.level - before.level) * -start) / (end - start);
    };
    const noisy = crossing(excessNoise);
    const bent = crossing(excessGain);
    if (noisy < Infinity || bent < Infinity) {
      return noisy <= bent ? { level: noisy, cause: 'noise' } : { level: bent, cause: 'gain' };
    }
  }
  return { level: Infinity, cause: 'none' };
}
