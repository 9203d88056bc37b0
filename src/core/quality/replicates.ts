import { nextWord, stream } from '../random/stream.ts';

/** A figure over replicate seeds, with its 95 % interval; the interval is NaN for fewer than 3 replicates, or where the figure is NaN. */
export interface Expected {
  value: number;
  low: number;
  high: number;
}

const RESAMPLES = 1000;

/**
 * Works out a figure over replicates and its 95 % bootstrap interval.
 *
 * Replicates are drawn again with replacement, 1000 times, from a stream of fixed name, so the interval is
 * reproducible. Source: B. Efron, Ann. Statist. 7(1), 1979, percentile method; it is too narrow for few replicates.
 *
 * @param count - number of replicates   @param figure - the figure for a choice of replicates, given by their numbers
 * @example overReplicates(3, (chosen) => mean(chosen.map((r) => gains[r])))
 */
export function overReplicates(count: number, figure: (chosen: ArrayLike<number>) => number): Expected {
  if (!(count >= 1)) throw new RangeError(`overReplicates: count must be >= 1, got ${count}`);
  const chosen = Uint16Array.from({ length: count }, (_, r) => r);
  const value = figure(chosen);
  if (count < 3) return { value, low: NaN, high: NaN };
  const draws = stream('bootstrap', 'replicates', count);
  const figures = new Float64Array(RESAMPLES);
  for (let k = 0; k < RESAMPLES; k++) {
    for (let r = 0; r < count; r++) chosen[r] = (nextWord(draws) >>> 0) % count;
    const drawn = figure(chosen);
    figures[k] = Number.isNaN(drawn) ? Infinity : drawn; // NaN would upset the order
  }
  figures.sort();
  if (Number.isNaN(value) && figures[0] === Infinity) return { value, low: NaN, high: NaN }; // not one could be told
  return { value, low: figures[Math.floor(0.025 * RESAMPLES)], high: figures[Math.ceil(0.975 * RESAMPLES) - 1] };
}

/** Root mean square of the chosen values: the expected residual noise of replicates. */
export function rmsOf(values: ArrayLike<number>, chosen: ArrayLike<number>): number {
  let sum = 0;
  for (let k = 0; k < chosen.length; k++) sum += values[chosen[k]] * values[chosen[k]];
  return Math.sqrt(sum / chosen.length);
}

/** Mean of the chosen values. */
export function meanOf(values: ArrayLike<number>, chosen: ArrayLike<number>): number {
  let sum = 0;
  for (let k = 0; k < chosen.length; k++) sum += values[chosen[k]];
  return sum / chosen.length;
}
