import type { Measure } from '../measures.ts';

/**
 * The expectation of a measure over replicates: root mean square, mean or median.
 *
 * @param chosen - numbers of the replicates that count   @returns NaN for none, or where a figure is NaN
 */
export function centreOf(centre: Measure['centre'], values: ArrayLike<number>, chosen: ArrayLike<number>): number {
  if (chosen.length === 0) return NaN;
  switch (centre) {
    case 'mean': {
      let sum = 0;
      for (let k = 0; k < chosen.length; k++) sum += values[chosen[k]];
      return sum / chosen.length;
    }
    case 'rms': {
      let sum = 0;
      for (let k = 0; k < chosen.length; k++) sum += values[chosen[k]] * values[chosen[k]];
      return Math.sqrt(sum / chosen.length);
    }
    case 'median': {
      const sorted = Float64Array.from({ length: chosen.length }, (_, k) => values[chosen[k]]).sort();
      const half = sorted.length >> 1;
      return sorted.length % 2 === 1 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
    }
    default:
      return centre satisfies never;
  }
}

/** The numbers 0 … count − 1. */
export function everyOne(count: number): Uint32Array {
  return Uint32Array.from({ length: count }, (_, k) => k);
}
