import { describe, expect, it } from 'vitest';
import { type Baseline, removeBaseline } from '../../../src/core/averaging/baseline.ts';

function without(kind: Baseline, values: readonly number[], preSampleCount = 2): number[] {
  const sweep = Float64Array.from(values);
  removeBaseline(sweep, kind, preSampleCount);
  return Array.from(sweep);
}

describe('removeBaseline', () => {
  const cases = [
    // kind, sweep, samples before the stimulus, expected, why
    ['none', [5, 6, 9], 2, [5, 6, 9], 'nothing is taken off'],
    ['pre-stimulus', [1, 3, 2, 7], 2, [-1, 1, 0, 5], 'the mean of the first two, from all'],
    ['pre-stimulus', [4, 100, 100], 1, [0, 96, 96], 'one sample is enough'],
    ['pre-stimulus', [1, 2, 3], 3, [-1, 0, 1], 'the whole sweep before the stimulus'],
    ['linear', [1, 2, 3, 4], 2, [0, 0, 0, 0], 'a straight line vanishes'],
    ['linear', [7, 7, 7], 2, [0, 0, 0], 'so does a constant'],
    ['linear', [0, 1, 0], 2, [-1 / 3, 2 / 3, -1 / 3], 'by hand: mean 1/3, slope 0'],
    ['linear', [0, 0, 3], 2, [0.5, -1, 0.5], 'by hand: mean 1, slope 3/2'],
    ['linear', [9], 1, [0], 'one sample has no slope'],
  ] as const;
  it.each(cases)('%s: %j', (kind, sweep, preSampleCount, expected, why) => {
    for (const [i, value] of without(kind, sweep, preSampleCount).entries()) {
      expect(value, why).toBeCloseTo(expected[i], 12);
    }
  });

  it.each(['none', 'pre-stimulus', 'linear'] as const)('%s is linear: the baseline of a sum is the sum', (kind) => {
    const [a, b] = [
      [3, 1, 4, 1, 5],
      [2, 7, 1, 8, 2],
    ];
    const sum = a.map((value, i) => value + 2 * b[i]);
    const [first, second, both] = [a, b, sum].map((values) => without(kind, values));
    for (let i = 0; i < 5; i++) expect(both[i]).toBeCloseTo(first[i] + 2 * second[i], 12);
  });

  it.each(['pre-stimulus', 'linear'] as const)('%s: taking it off twice is taking it off once', (kind) => {
    const once = without(kind, [3, 1, 4, 1, 5]);
    const twice = without(kind, once);
    for (let i = 0; i < 5; i++) expect(twice[i]).toBeCloseTo(once[i], 12);
  });

  it.each([[0], [-1], [NaN]])('pre-stimulus refuses %d samples', (count) => {
    const rule = new RangeError(`removeBaseline: preSampleCount must be > 0, got ${count}`);
    expect(() => without('pre-stimulus', [1, 2], count)).toThrow(rule);
    expect(() => without('linear', [1, 2], count)).not.toThrow();
  });
});
