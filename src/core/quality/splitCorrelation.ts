import { readHalves, type SweepGroups } from './groupedSweeps.ts';
import { checkWindow } from './residualNoise.ts';

/**
 * Correlates the two split buffers over the window (Pearson's r).
 *
 * For a response of power s² in noise of power n² in each buffer, r ≈ s²/(s² + n²). Whatever is common to both
 * buffers counts as response: locked mains replicates perfectly.
 *
 * @returns −1 … 1; NaN if a buffer is flat or has a NaN   @throws {RangeError} if the window is empty or outside
 * @example splitCorrelation(Float64Array.of(1, 2, 3), Float64Array.of(2, 4, 6), 0, 3) // 1
 */
export function splitCorrelation(bufferAUv: Float64Array, bufferBUv: Float64Array, from: number, to: number): number {
  checkWindow('splitCorrelation', bufferAUv, bufferBUv, from, to);
  const count = to - from;
  // Counted from the first sample: a flat buffer is then exactly 0 throughout, whatever its level.
  const firstA = bufferAUv[from];
  const firstB = bufferBUv[from];
  let meanA = 0;
  let meanB = 0;
  for (let i = from; i < to; i++) {
    meanA += (bufferAUv[i] - firstA) / count;
    meanB += (bufferBUv[i] - firstB) / count;
  }
  let squaresA = 0;
  let squaresB = 0;
  let products = 0;
  for (let i = from; i < to; i++) {
    const a = bufferAUv[i] - firstA - meanA;
    const b = bufferBUv[i] - firstB - meanB;
    squaresA += a * a;
    squaresB += b * b;
    products += a * b;
  }
  const scale = Math.sqrt(squaresA) * Math.sqrt(squaresB);
  return scale > 0 ? products / scale : NaN;
}

/**
 * Makes the statistic `splitCorrelation` of sweep groups, for `signFlipTest`: even groups against odd ones.
 *
 * @returns a function from groups to r; NaN where a half is flat or has no weight
 */
export function splitCorrelationOfGroups(pointCount: number): (groups: SweepGroups) => number {
  const halves = [new Float64Array(pointCount), new Float64Array(pointCount)];
  return (groups) => {
    readHalves(groups, halves);
    return splitCorrelation(halves[0], halves[1], 0, pointCount);
  };
}
