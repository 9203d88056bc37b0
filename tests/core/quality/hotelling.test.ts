import { describe, expect, it } from 'vitest';
import { groupedSweeps } from '../../../src/core/quality/groupedSweeps.ts';
import { hotellingTest } from '../../../src/core/quality/hotelling.ts';
import { whiteSweeps } from './whiteSweeps.ts';

/** Groups given directly: one row each, weight 1. */
function rows(values: readonly (readonly number[])[]) {
  return {
    groupCount: values.length,
    pointCount: values[0].length,
    sumsUv: Float64Array.from(values.flat()),
    weights: new Float64Array(values.length).fill(1),
    sweepsPerGroup: 1,
  };
}

describe('hotellingTest', () => {
  it('is the squared t of a paired difference for two bins: by hand', () => {
    // Differences of the two bins: 2, 4, 6: mean 4, variance 4, t² = 3·16/4 = 12, F(1, 2) = 12.
    const test = hotellingTest(
      rows([
        [3, 1],
        [2, -2],
        [8, 2],
      ]),
      2,
    );
    expect(test.tSquared).toBeCloseTo(12, 10);
    expect(test.f).toBeCloseTo(12, 10);
    expect([test.binCount, test.restDf]).toEqual([1, 2]);
    // P(F(1,2) > 12) = P(|t₂| > √12) = 1 − √(12/(12 + 2)) = 0.0742 (closed form of t with 2 degrees of freedom)
    expect(test.p).toBeCloseTo(1 - Math.sqrt(12 / 14), 10);
  });

  it('does not mind scale, offset, or the order of groups', () => {
    const values = whiteSweeps(
      'invariant',
      30,
      12,
      () => 1,
      (i) => Math.sin(i) / 3,
    ).map((row) => Array.from(row));
    const { tSquared } = hotellingTest(rows(values), 4);
    const changed = [...values].reverse().map((row) => row.map((value) => 7 * value + 100));
    expect(hotellingTest(rows(changed), 4).tSquared / tSquared).toBeCloseTo(1, 8);
  });

  it('raises 5 % of alarms on coloured noise: 400 recordings of 120 sweeps, 4 standard errors', () => {
    let alarms = 0;
    for (let r = 0; r < 400; r++) {
      const gatherer = groupedSweeps(0, 40);
      for (const white of whiteSweeps(`hotelling/${r}`, 120, 40, () => 1)) {
        for (let i = 1; i < 40; i++) white[i] += 0.9 * white[i - 1];
        gatherer.add(white);
      }
      if (hotellingTest(gatherer.groups(), 10).p < 0.05) alarms++;
    }
    expect(Math.abs(alarms / 400 - 0.05)).toBeLessThan(4 * Math.sqrt((0.05 * 0.95) / 400));
  });

  it('gives NaN where the bins do not scatter independently', () => {
    expect(
      hotellingTest(
        rows([
          [1, 1, 1],
          [2, 2, 2],
          [3, 3, 3],
          [4, 4, 4],
        ]),
        3,
      ).p,
    ).toBeNaN(); // prettier-ignore
  });

  it('refuses too few groups and impossible bins', () => {
    const three = rows([
      [1, 2],
      [2, 1],
      [0, 3],
    ]); // prettier-ignore
    expect(() => hotellingTest(three, 1)).toThrow(/binCount must be a whole number from 2 to 25, got 1$/);
    expect(() => hotellingTest(three, 3)).toThrow(/got 3$/);
    const wide = rows([
      [1, 2, 3, 4],
      [2, 1, 0, 3],
      [0, 3, 1, 9],
    ]); // prettier-ignore
    expect(() => hotellingTest(wide, 4)).toThrow(new RangeError('hotellingTest: groups must be at least 5, got 3'));
  });
});
