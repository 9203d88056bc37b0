import { readGroupNoiseUv2, readGroups, type SweepGroups } from './groupedSweeps.ts';

/**
 * Compares the size of an average with the noise at one point or over several: Fsp and Fmp.
 *
 *     Fsp = Var over the window of the average / noise²(t₀)
 *     Fmp = Var over the window of the average / mean of noise²(t) over the points
 *
 * noise²(t) is the squared standard error of the average at t, from sweep to sweep [ED84]; with weights it is that of the
 * weighted average. About 1 without a response, 1 + SNR² with one. One point knows its variance badly where the noise is
 * not the same throughout the sweep; several points know it better.
 *
 * @param averageUv - window only, µV   @param noiseUv2 - noise² at each of its points, µV², e.g. of `sweepScatter`
 * @param points - numbers of the points whose noise counts; one for Fsp
 * @returns ratio; NaN if a point is NaN or the noise is 0   @throws {RangeError} for no point, or one outside
 * @example fRatio(Float64Array.of(1, -1), Float64Array.of(0.5, 4), [0]) // 2
 */
export function fRatio(averageUv: Float64Array, noiseUv2: Float64Array, points: ArrayLike<number>): number {
  const count = averageUv.length;
  let noise = 0;
  for (let j = 0; j < points.length; j++) {
    if (!(points[j] >= 0 && points[j] < count)) {
      throw new RangeError(`fRatio: points must lie within 0 to ${count - 1}, got ${points[j]}`);
    }
    noise += noiseUv2[points[j]] / points.length;
  }
  if (points.length === 0) throw new RangeError('fRatio: points must name at least 1, got none');
  const variance = varianceUv2(averageUv);
  return noise > 0 ? variance / noise : NaN;
}

/** Variance of the average over its points, about their mean, µV². */
export function varianceUv2(averageUv: Float64Array): number {
  const count = averageUv.length;
  let mean = 0;
  for (let i = 0; i < count; i++) mean += averageUv[i] / count;
  let sum = 0;
  for (let i = 0; i < count; i++) sum += (averageUv[i] - mean) * (averageUv[i] - mean);
  return sum / count;
}

/** Makes the statistic `fRatio` of sweep groups, for `signFlipTest` and `bootstrapTest`. */
export function fRatioOfGroups(pointCount: number, points: ArrayLike<number>): (groups: SweepGroups) => number {
  const averageUv = new Float64Array(pointCount);
  const noiseUv2 = new Float64Array(pointCount);
  return (groups) => {
    readGroups(groups, averageUv);
    readGroupNoiseUv2(groups, averageUv, noiseUv2);
    return fRatio(averageUv, noiseUv2, points);
  };
}

/** Numbers of points spread evenly over a window: `count` of them, at the middles of equal pieces. */
export function evenPoints(pointCount: number, count: number): number[] {
  if (!(count >= 1 && count <= pointCount)) {
    throw new RangeError(`evenPoints: count must lie within 1 to ${pointCount}, got ${count}`);
  }
  return Array.from({ length: count }, (_, j) => Math.floor(((j + 0.5) * pointCount) / count));
}
