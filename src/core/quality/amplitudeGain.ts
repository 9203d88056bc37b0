import type { Expected } from './replicates.ts';
import { checkWindow } from './residualNoise.ts';

/** Outside these bounds a strategy has changed the response: its low noise does not count. Our choice. */
export const GAIN_BOUNDS = [0.95, 1.05] as const;

const SILENT_UV = 1e-4; // µV rms, our choice: a tenth of a nanovolt is the tail of a filter, not a response

/**
 * Measures how much of the response an average keeps.
 *
 *     G = Σ estimate·truth / Σ truth²   over the window
 *
 * 1 = all of it; below 1 the strategy has shrunk it. The noise left in the average scatters G by e/rms(truth)/√(points).
 *
 * @returns ratio; NaN if the truth is silent or a sample is NaN   @throws {RangeError} if the window is empty or outside
 * @example amplitudeGain(Float64Array.of(1, 2), Float64Array.of(2, 4), 0, 2) // 0.5
 */
export function amplitudeGain(estimateUv: Float64Array, truthUv: Float64Array, from: number, to: number): number {
  checkWindow('amplitudeGain', estimateUv, truthUv, from, to);
  let product = 0;
  let power = 0;
  for (let i = from; i < to; i++) {
    product += estimateUv[i] * truthUv[i];
    power += truthUv[i] * truthUv[i];
  }
  return power > (to - from) * SILENT_UV * SILENT_UV ? product / power : NaN;
}

/**
 * Tells whether a gain lies outside `GAIN_BOUNDS`, by its value alone: what is quieter or faster is then hollow.
 *
 * Noise alone may have moved it there; `changesResponse` tells whether replicates rule that out.
 *
 * @returns false for NaN: without a response nothing can be changed   @example isHollow(0.9) // true
 */
export function isHollow(gain: number): boolean {
  return gain < GAIN_BOUNDS[0] || gain > GAIN_BOUNDS[1];
}

/**
 * Tells whether replicates show that a strategy has changed the response: its low noise then does not count.
 *
 * True if the whole interval of the gain lies outside `GAIN_BOUNDS`; a gain that noise alone may have moved there is
 * given the benefit of the doubt. Without an interval (fewer than 3 replicates) the answer is false: one run cannot tell.
 */
export function changesResponse(gain: Expected): boolean {
  return gain.high < GAIN_BOUNDS[0] || gain.low > GAIN_BOUNDS[1];
}
