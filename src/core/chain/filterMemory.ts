import { log } from '../elementary.ts';
import { filterCascade, type Section } from './filters.ts';

const CASCADE_FACTOR = 1.25; // poles next to each other fade later than one alone: our choice, held by the tests

/**
 * Tells after how many samples nothing larger than a share of an impulse is left in a cascade.
 *
 *     n = 1.25·ln(share)/ln(r),   r the largest distance of a pole from 0
 *
 * @param share - 0 < share < 1   @returns samples, ≥ 1   @throws {RangeError} if a section does not fade at all
 */
export function settlingSampleCount(sections: readonly Section[], share: number): number {
  const slowest = Math.max(0, ...sections.map(poleRadius));
  if (!(slowest < 1))
    throw new RangeError(`settlingSampleCount: poles must lie within the unit circle, got ${slowest}`);
  if (slowest === 0) return 2;
  return Math.max(2, Math.ceil((CASCADE_FACTOR * log(share)) / log(slowest)));
}

/**
 * Tells how long a cascade remembers a step: samples until what comes out stays within 1 % of the step from its end.
 *
 * A clip begins and ends with a step, so this is how far filters carry it.
 */
export function stepMemorySampleCount(sections: readonly Section[]): number {
  const length = settlingSampleCount(sections, 1e-6);
  const step = new Float64Array(length).fill(1);
  filterCascade(sections).run(step, new Float64Array(length), length);
  const end = sections.reduce((gain, { b0, b1, b2, a1, a2 }) => (gain * (b0 + b1 + b2)) / (1 + a1 + a2), 1);
  let last = length - 1;
  while (last > 0 && Math.abs(step[last] - end) <= 0.01) last--;
  return last + 1;
}

function poleRadius({ a1, a2 }: Section): number {
  const under = a1 * a1 - 4 * a2;
  return under < 0 ? Math.sqrt(a2) : (Math.abs(a1) + Math.sqrt(under)) / 2;
}
