import { fCritical } from './fDistribution.ts';

/**
 * Compares the size of an average with the noise it should have: F over multiple points.
 *
 *     Fmp = Var over the window of the average / (own noise)²
 *
 * About 1 without a response, 1 + SNR² with one. [ED84] (one point: Fsp) with the variance averaged over all points of
 * the window. The limit assumes 5 and 250 degrees of freedom and a single look: conventional, and off on real noise
 * [CH18]; looking again and again raises false alarms.
 *
 * @param averageUv - µV   @param ownNoiseUv - the strategy's claim, µV rms
 * @returns ratio; NaN if the claim is NaN or 0
 * @example fmp(Float64Array.of(1, -1), 1, 0, 2) // 1
 */
export function fmp(averageUv: Float64Array, ownNoiseUv: number, from: number, to: number): number {
  let mean = 0;
  for (let i = from; i < to; i++) mean += averageUv[i] / (to - from);
  let variance = 0;
  for (let i = from; i < to; i++) variance += ((averageUv[i] - mean) * (averageUv[i] - mean)) / (to - from);
  return ownNoiseUv > 0 ? variance / (ownNoiseUv * ownNoiseUv) : NaN;
}

/** Above this a response is called present at 99 %: the upper 1 % point of F(5, 250) [ED84]. */
export const FMP_PRESENT = fCritical(5, 250, 0.01);
