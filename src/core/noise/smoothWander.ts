import { exp, PI } from '../elementary.ts';
import { ornsteinUhlenbeck } from '../random/ornsteinUhlenbeck.ts';
import { nextGaussian, type Stream } from '../random/stream.ts';

/**
 * Makes a slow process of variance 1 whose path has no corners.
 *
 *     S(f) ∝ 1/(1 + (f/f_c)²)²,   S(0) = 4/(π·f_c), one-sided
 *
 * An Ornstein–Uhlenbeck process, smoothed once more with the same corner. The unsmoothed one falls by 6 dB per octave
 * only: 300 µV of it at 0.1 Hz would put 7 µV into 100–1500 Hz. Assumes steps short against the memory 1/(2π·f_c): the
 * variance errs by about step/memory.
 *
 * @param stepS - s, > 0   @returns the value at each next step
 */
export function smoothWander(draws: Stream, cornerHz: number, stepS: number): () => number {
  const memoryS = 1 / (2 * PI * cornerHz);
  const keep = exp(-stepS / memoryS);
  const rough = ornsteinUhlenbeck(draws, Math.SQRT2, memoryS, stepS); // smoothing halves the variance
  // Stationary from the start: given the rough value x, the smooth one is x/2 with standard deviation √½.
  let value = 0.5 * rough.next() + Math.SQRT1_2 * nextGaussian(draws);
  return () => {
    const now = value;
    value = keep * value + (1 - keep) * rough.next();
    return now;
  };
}
