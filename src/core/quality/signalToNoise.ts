import { log } from '../elementary.ts';
import { varianceUv2 } from './fsp.ts';
import { checkWindow } from './residualNoise.ts';

/** 20·log₁₀ of a ratio of sizes; −Infinity for 0, NaN below 0. @example decibels(10) // 20 */
export function decibels(ratio: number): number {
  return (20 * log(ratio)) / log(10);
}

/**
 * Measures the true signal-to-noise ratio of an average, in amplitude.
 *
 *     SNR = 20·log₁₀( rms of the truth over the window / true residual noise )
 *
 * @param truthUv - noise-free response, µV   @param residualNoiseUv - of `residualNoiseUv`, µV rms
 * @returns dB; −Infinity for a silent truth, Infinity for no noise, NaN if a sample is NaN
 * @throws {RangeError} if the window is empty or outside
 * @example signalToNoiseDb(Float64Array.of(1, -1), 0.1, 0, 2) // 20
 */
export function signalToNoiseDb(truthUv: Float64Array, residualNoiseUv: number, from: number, to: number): number {
  checkWindow('signalToNoiseDb', truthUv, truthUv, from, to);
  let power = 0;
  for (let i = from; i < to; i++) power += truthUv[i] * truthUv[i];
  return decibels(Math.sqrt(power / (to - from)) / residualNoiseUv);
}

/**
 * Estimates the signal-to-noise ratio of an average as a clinician can: without the truth.
 *
 *     SNR = √max(0, Var over the window of the average / claimed noise² − 1)
 *
 * @param averageUv - window only, µV   @returns ratio of sizes, ≥ 0; NaN if the claim is NaN or 0
 * @example estimatedSnr(Float64Array.of(2, -2), 1) // 1.7320508075688772
 */
export function estimatedSnr(averageUv: Float64Array, claimedNoiseUv: number): number {
  if (!(claimedNoiseUv > 0)) return NaN;
  return Math.sqrt(Math.max(0, varianceUv2(averageUv) / (claimedNoiseUv * claimedNoiseUv) - 1));
}

/**
 * Turns the correlation of two split buffers into the SNR of the whole average, as a ratio of powers.
 *
 *     r = s²/(s² + n²) in each half;  the whole has noise n²/2:  SNR² = s²/(n²/2) = 2r/(1 − r)
 *
 * @param correlation - −1 … 1   @returns 0 for r ≤ 0, Infinity for 1, NaN for NaN   @example snrOfSplit(0.5) // 2
 */
export function snrOfSplit(correlation: number): number {
  if (Number.isNaN(correlation)) return NaN;
  return correlation <= 0 ? 0 : (2 * correlation) / (1 - correlation);
}
