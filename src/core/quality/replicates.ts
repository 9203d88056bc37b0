import { nextWord, stream } from '../random/stream.ts';
import { fCritical } from './fDistribution.ts';

/** A figure over replicate seeds, with its 95 % interval; the interval is NaN for fewer than 3 replicates, or where the figure is NaN. */
export interface Expected {
  value: number;
  low: number;
  high: number;
}

const RESAMPLES = 1000;
const NORMAL = 1.959964; // 97.5 % of a standard normal lie below

/**
 * Works out a figure over replicates and its 95 % bootstrap interval.
 *
 * Replicates are drawn again with replacement, 1000 times, from a stream of fixed name, so the interval is
 * reproducible. The percentiles alone (B. Efron, Ann. Statist. 7(1), 1979) are too narrow for few replicates: they know
 * no n − 1, and nothing of the scatter of the scatter. So both ends are moved away from the value by
 *
 *     t(97.5 %, n − 1) / 1.96 · √(n / (n − 1))          2.69 for 3, 1.29 for 8, 1.03 for 64 replicates
 *
 * which is the correction of T. C. Hesterberg, Am. Stat. 69(4), 2015 (from memory), laid on distances instead of on the
 * percentiles, of which 3 or 4 replicates have too few. A figure never drawn below 0 gets no end below 0.
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
  const low = figures[Math.floor(0.025 * RESAMPLES)];
  const high = figures[Math.ceil(0.975 * RESAMPLES) - 1];
  if (!Number.isFinite(value)) return { value, low, high }; // nothing to measure a distance from
  const wider = widening(count);
  const floor = figures[0] >= 0 ? 0 : -Infinity;
  return {
    value,
    low: Math.min(low, Math.max(floor, value - wider * (value - low))),
    high: Math.max(high, value + wider * (high - value)),
  };
}

/** What the distances of the percentiles from the value are short by. */
function widening(count: number): number {
  const t = Math.sqrt(fCritical(1, count - 1, 0.05)); // t² is F with 1 and n − 1 degrees of freedom
  return (t / NORMAL) * Math.sqrt(count / (count - 1));
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
