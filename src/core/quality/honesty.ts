/** How a strategy's claims compare with the true noise over replicates. */
export interface Honesty {
  /** √(mean claim² / mean true noise²): the figure to score. */
  expected: number;
  /** Claim over true noise in single runs: median and the middle 80 %. */
  median: number;
  low: number;
  high: number;
  /** Share of runs in which less noise was claimed than there is. */
  rosyShare: number;
}

/**
 * Judges the honesty of noise claims: H = claim / true residual noise.
 *
 * 1 is honest, below 1 rosy, above 1 cautious. A single run's true noise scatters by 1/√(2ν) even if the claim is right,
 * so the spread of H says more about the true noise than about the claim; the expected value is what to trust.
 *
 * @param claimsUv - own noise of each replicate   @param trueNoiseUv - true residual noise of each, same unit and order
 * @returns NaN where a claim or a true noise is NaN or the noise is 0   @throws {RangeError} if empty or lengths differ
 * @example honesty([1, 1], [1, 1]).expected // 1
 */
export function honesty(claimsUv: ArrayLike<number>, trueNoiseUv: ArrayLike<number>): Honesty {
  const count = claimsUv.length;
  if (!(count >= 1 && trueNoiseUv.length === count)) {
    throw new RangeError(`honesty: needs as many claims as noises, at least 1, got ${count} and ${trueNoiseUv.length}`);
  }
  let claimed = 0;
  let real = 0;
  let rosy = 0;
  const ratios = new Float64Array(count);
  for (let r = 0; r < count; r++) {
    claimed += claimsUv[r] * claimsUv[r];
    real += trueNoiseUv[r] * trueNoiseUv[r];
    ratios[r] = claimsUv[r] / trueNoiseUv[r];
    if (ratios[r] < 1) rosy++;
  }
  const known = Number.isFinite(claimed / real);
  ratios.sort();
  const at = (share: number) => (known ? quantile(ratios, share) : NaN);
  return {
    expected: known ? Math.sqrt(claimed / real) : NaN,
    median: at(0.5),
    low: at(0.1),
    high: at(0.9),
    rosyShare: known ? rosy / count : NaN,
  };
}

/**
 * Reads a quantile from values in rising order, straight lines between neighbours (type 7 of Hyndman & Fan 1996).
 *
 * @param share - 0 … 1   @example quantile(Float64Array.of(1, 2, 4), 0.5) // 2
 */
export function quantile(rising: ArrayLike<number>, share: number): number {
  const place = share * (rising.length - 1);
  const below = Math.floor(place);
  const above = Math.min(rising.length - 1, below + 1);
  return rising[below] + (place - below) * (rising[above] - rising[below]);
}
