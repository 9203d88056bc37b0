import { exp } from '../elementary.ts';
import { nextGaussian, type Stream } from './stream.ts';

/** A slow random process read at equal steps of time. */
export interface SlowProcess {
  /** Returns the value now and moves one step on. */
  next(): number;
}

/**
 * Makes a stationary process that wanders around 0 and forgets where it was.
 *
 *     x[n+1] = a·x[n] + sd·√(1 − a²)·g[n],   a = exp(−stepS / memoryS),   x[0] = sd·g
 *
 * This is the exact sampling of an Ornstein–Uhlenbeck process, so the step length does not change its law.
 *
 * @param sd - standard deviation, any unit   @param memoryS - correlation time, s, > 0   @param stepS - s, > 0
 */
export function ornsteinUhlenbeck(draws: Stream, sd: number, memoryS: number, stepS: number): SlowProcess {
  const keep = exp(-stepS / memoryS);
  const kick = sd * Math.sqrt(1 - keep * keep);
  let value = sd * nextGaussian(draws);
  return {
    next() {
      const now = value;
      value = keep * value + kick * nextGaussian(draws);
      return now;
    },
  };
}
