import { cosineOfCycles, exp, PI } from '../elementary.ts';
import { fillGaussian, type Stream } from '../random/stream.ts';
import type { BurstCarrier } from './burstTrain.ts';

/**
 * Makes noise of variance 1 that rings at one frequency.
 *
 *     y[n] = 2r·cos(2πf/fs)·y[n−1] − r²·y[n−2] + k·w[n],   r = exp(−π·width/fs),   variance 1
 *
 * An AR(2) process; its spectrum is a line of the given half-power width. The variance of an AR(2) process with
 * a₁, a₂ = r² is k²·(1 + a₂)/((1 − a₂)·((1 + a₂)² − a₁²)): any time-series textbook.
 *
 * @param centreHz - below half the sample rate   @param widthHz - > 0
 */
export function resonance(draws: Stream, centreHz: number, widthHz: number, sampleRateHz: number): BurstCarrier {
  const radius = exp((-PI * widthHz) / sampleRateHz);
  const a1 = 2 * radius * cosineOfCycles(centreHz / sampleRateHz);
  const a2 = radius * radius;
  const scale = Math.sqrt(((1 - a2) * ((1 + a2) * (1 + a2) - a1 * a1)) / (1 + a2));
  let last = 0;
  let lastButOne = 0;
  return {
    fill(out, count) {
      fillGaussian(draws, out, count);
      for (let i = 0; i < count; i++) {
        const value = a1 * last - a2 * lastButOne + scale * out[i];
        lastButOne = last;
        last = value;
        out[i] = value;
      }
    },
    reset() {
      last = 0;
      lastButOne = 0;
    },
  };
}
