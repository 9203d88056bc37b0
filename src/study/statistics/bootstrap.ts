import { nextWord, stream } from '../../core/random/stream.ts';

/** A figure with its 95 % interval; the interval is NaN where fewer than 3 replicates, or none that can be told, exist. */
export interface Interval {
  value: number;
  low: number;
  high: number;
}

const RESAMPLES = 1000;

/**
 * A figure over replicates with its 95 % bootstrap interval, percentile method.
 *
 * Replicates are drawn again with replacement, 1000 times, from a stream whose name depends on their number only: the
 * same draws for every figure, so that figures of the same replicates are resampled in pairs. B. Efron, Ann. Statist.
 * 7(1), 1979, doi 10.1214/aos/1176344552. Too narrow for few replicates.
 *
 * @param count - number of replicates   @param figure - the figure for a choice of replicates, by their numbers
 * @returns the interval is NaN for fewer than 3 replicates, or where more than 1 % of the resamples have no figure
 */
export function bootstrap(count: number, figure: (chosen: Uint32Array) => number): Interval {
  const chosen = Uint32Array.from({ length: count }, (_, r) => r);
  const value = count > 0 ? figure(chosen) : NaN;
  if (count < 3) return { value, low: NaN, high: NaN };
  const figures = new Float64Array(RESAMPLES);
  let k = 0;
  for (const drawn of resamples(count)) figures[k++] = figure(drawn);
  figures.sort(); // NaN comes last
  const firstUnknown = figures.findIndex((drawn) => Number.isNaN(drawn));
  const knownCount = firstUnknown < 0 ? RESAMPLES : firstUnknown;
  if (knownCount < 0.99 * RESAMPLES) return { value, low: NaN, high: NaN };
  return { value, low: figures[Math.floor(0.025 * knownCount)], high: figures[Math.ceil(0.975 * knownCount) - 1] };
}

/** The 1000 choices of replicates, one after the other in one reused array. */
export function* resamples(count: number): Generator<Uint32Array> {
  const draws = stream('bootstrap', 'study', count);
  const chosen = new Uint32Array(count);
  for (let k = 0; k < RESAMPLES; k++) {
    for (let r = 0; r < count; r++) chosen[r] = (nextWord(draws) >>> 0) % count;
    yield chosen;
  }
}
