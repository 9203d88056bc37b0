/** Follows how tense a muscle is, as a contraction meter does. */
export interface MuscleLevel {
  /** Takes the next sweep; returns the level at it, µV: the mean over the last few sweeps. NaN without samples before the stimulus. */
  next(sweepUv: Float64Array): number;
}

/**
 * Makes a contraction meter: the mean rectified recording before the stimulus, smoothed over the last sweeps.
 *
 *     e[k] = mean over k − n + 1 … k of ( mean over t < 0 of |x[t] − mean before the stimulus| )
 *
 * @param preSampleCount - samples before the stimulus   @param smoothing - n, sweeps
 * @example const meter = muscleLevel(2, 1); meter.next(Float64Array.of(-3, 3, 50)) // 3
 */
export function muscleLevel(preSampleCount: number, smoothing: number): MuscleLevel {
  if (!(smoothing >= 1)) throw new RangeError(`muscleLevel: smoothing must be >= 1, got ${smoothing}`);
  const recent: number[] = [];
  return {
    next(sweepUv) {
      if (!(preSampleCount > 0)) return NaN;
      let mean = 0;
      for (let i = 0; i < preSampleCount; i++) mean += sweepUv[i] / preSampleCount;
      let rectified = 0;
      for (let i = 0; i < preSampleCount; i++) rectified += Math.abs(sweepUv[i] - mean);
      recent.push(rectified / preSampleCount);
      if (recent.length > smoothing) recent.shift();
      return recent.reduce((sum, value) => sum + value, 0) / recent.length;
    },
  };
}
