import { describe, expect, it } from 'vitest';
import { areaUnderCurve, spearman, weightQuality } from '../../../src/core/quality/weightQuality.ts';

const sweep = (weight: number, disturbanceUv: number) => ({
  weight,
  noiseUv: Math.hypot(1, disturbanceUv),
  calmNoiseUv: 1,
  disturbanceUv,
});

describe('weightQuality', () => {
  it('counts good sweeps lost and bad sweeps kept: by hand', () => {
    const quality = weightQuality([
      sweep(1, 0),
      sweep(1, 0.1),
      sweep(0, 0.2),
      sweep(0.4, 1.4),
      sweep(0, 5),
      sweep(1, 8),
    ]);
    expect(quality.badShare).toBeCloseTo(2 / 6, 12);
    expect(quality.falseReject).toBe(2 / 4); // one left out, one with less than half the usual weight of 1
    expect(quality.falseAccept).toBe(1 / 2);
  });

  it('finds nothing to blame in weights 1/v, and everything in their opposite', () => {
    const sizes = [0, 0.2, 0.4, 2, 3, 10];
    const right = weightQuality(sizes.map((size) => sweep(1 / (1 + size ** 2), size)));
    expect([right.rank, right.area, right.falseReject, right.falseAccept]).toEqual([1, 1, 0, 0]);
    const wrong = weightQuality(sizes.map((size) => sweep(1 + size ** 2, size)));
    expect([wrong.rank, wrong.area, wrong.falseAccept]).toEqual([-1, 0, 1]);
  });

  it('cannot rank equal weights', () => {
    const quality = weightQuality([sweep(1, 0), sweep(1, 3)]);
    expect(quality.rank).toBeNaN();
    expect(quality.area).toBe(0.5);
    expect(quality.falseAccept).toBe(1);
  });

  it('has no rate where there is no such sweep', () => {
    expect(weightQuality([sweep(1, 0)]).falseAccept).toBeNaN();
    expect(weightQuality([sweep(0, 0)]).falseReject).toBe(1);
    expect(() => weightQuality([])).toThrow(/at least 1 sweep/);
  });
});

describe('spearman', () => {
  it.each([
    [[1, 2, 3], [10, 30, 20], 0.5, 'by hand: 1 − 6·2/(3·8)'],
    [[1, 2, 2, 3], [1, 2, 2, 3], 1, 'ties on both sides'],
    [[1, 1, 2], [1, 2, 3], Math.sqrt(0.75), 'a tie on one side: 1.5/√(1.5·2)'],
    [[1, NaN], [1, 2], NaN, 'NaN is passed on'],
    [[1, 1], [1, 2], NaN, 'all equal'],
  ])('of %j and %j: %d (%s)', (a, b, expected) => {
    if (Number.isNaN(expected)) expect(spearman(a, b)).toBeNaN();
    else expect(spearman(a, b)).toBeCloseTo(expected, 12);
  });

  it('refuses lists that do not match', () => {
    expect(() => spearman([1], [1, 2])).toThrow(new RangeError('spearman: lengths must agree, got 1 and 2'));
  });
});

describe('areaUnderCurve', () => {
  it('counts pairs, ties half: by hand', () => {
    expect(areaUnderCurve([3, 2], [1, 2])).toBe(3.5 / 4);
    expect(areaUnderCurve([], [1])).toBeNaN();
  });
});
