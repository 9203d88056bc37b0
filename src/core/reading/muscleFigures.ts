import { type Figure, figure } from './figure.ts';
import type { ReadPeak } from './readPeaks.ts';

/**
 * Works out the size of a muscle response from peak to peak, raw and for the strength of the contraction.
 *
 *     raw = |first peak − second peak| µV;   corrected = raw / mean rectified activity before the stimulus
 *
 * The mean rectified activity is a mean over all sweeps and counts as known.
 *
 * @param first - p13 or n10   @param second - n23 or p15   @param rectifiedUv - of `meanRectifiedUv`, µV; NaN for none
 * @returns raw in µV and, where the activity is known, corrected as a ratio
 */
export function muscleFigures(first: ReadPeak, second: ReadPeak, rectifiedUv: number): Figure[] {
  const raw = figure(
    `${first.name}–${second.name}`,
    'µV',
    Math.abs(first.amplitudeUv - second.amplitudeUv),
    // Peaks some 10 ms apart: the noise of a muscle forgets within a few.
    Math.sqrt(first.amplitudeSdUv * first.amplitudeSdUv + second.amplitudeSdUv * second.amplitudeSdUv),
  );
  if (!(rectifiedUv > 0)) return [raw];
  return [raw, figure(`${raw.name} / activity`, '', raw.value / rectifiedUv, raw.sd / rectifiedUv)];
}

/**
 * Measures the mean rectified activity of one sweep before its stimulus.
 *
 * The mean of the samples is taken off first, so that a slow potential does not count as activity.
 *
 * @returns µV; NaN without samples before the stimulus   @example meanRectifiedUv(Float64Array.of(1, -1, 9), 2) // 1
 */
export function meanRectifiedUv(sweepUv: Float64Array, preSampleCount: number): number {
  let mean = 0;
  for (let i = 0; i < preSampleCount; i++) mean += sweepUv[i] / preSampleCount;
  let sum = 0;
  for (let i = 0; i < preSampleCount; i++) sum += Math.abs(sweepUv[i] - mean);
  return sum / preSampleCount;
}

/**
 * Works out the asymmetry of two sides, for raw or corrected sizes alike.
 *
 *     100·|L − R|/(L + R) %,   σ = 200·√(R²·σ_L² + L²·σ_R²)/(L + R)²
 *
 * The σ is that of the signed ratio by the delta rule. Near symmetry the absolute value makes the figure larger than
 * nothing by chance: two equal sides read about 0.8 σ.
 *
 * @param left - peak to peak, any unit   @returns %; NaN if both sizes are 0
 * @example asymmetry(3, 0, 1, 0).value // 50
 */
export function asymmetry(left: number, leftSd: number, right: number, rightSd: number): Figure {
  const sum = left + right;
  const spread = Math.sqrt(right * right * leftSd * leftSd + left * left * rightSd * rightSd);
  return figure('asymmetry', '%', (100 * Math.abs(left - right)) / sum, (200 * spread) / (sum * sum));
}
