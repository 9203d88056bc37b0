import { exp } from '../elementary.ts';
import { fillGaussian, nextGaussian, type Stream } from './stream.ts';

/** A slow random process read at equal steps of time. */
export interface SlowProcess {
  /** Returns the value now and moves one step on. */
  next(): number;
  /** Writes the values of steps [from, to) to the same places of `out` and moves on past them. */
  fill(out: Float64Array, from: number, to: number): void;
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
    fill(out, from, to) {
      fillGaussian(draws, out, to - from, from);
      let now = value;
      for (let j = from; j < to; j++) {
        const draw = out[j];
        out[j] = now;
        now = keep * now + kick * draw;
      }
      value = now;
    },
  };
}
