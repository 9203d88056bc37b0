import { describe, expect, it } from 'vitest';
import { nextGaussian, nextUniform, stream } from '../../../src/core/random/stream.ts';
import { bootstrap } from '../../../src/study/statistics/bootstrap.ts';
import { crossing } from '../../../src/study/statistics/breakdown.ts';
import { centreOf } from '../../../src/study/statistics/centre.ts';
import { exactRate } from '../../../src/study/statistics/exactRate.ts';
import { holm } from '../../../src/study/statistics/holm.ts';
import { normalQuantile } from '../../../src/study/statistics/normal.ts';
import { paretoFront } from '../../../src/study/statistics/pareto.ts';
import { signedRank } from '../../../src/study/statistics/wilcoxon.ts';

describe('signedRank', () => {
  it('by hand: five differences above zero are as extreme as 2 of 32 choices of signs', () => {
    expect(signedRank([1, 2, 3, 4, 5])).toEqual({ rankSum: 15, p: 0.0625, count: 5 });
  });
  it('leaves out zeros and unknowns; nothing left is no evidence', () => {
    expect(signedRank([0, 0, NaN])).toEqual({ rankSum: 0, p: 1, count: 0 });
  });
  it('finds chance differences significant as often as it says', () => {
    const draws = stream('7', 'test/wilcoxon');
    let found = 0;
    for (let k = 0; k < 2000; k++) {
      const differences = Array.from({ length: 20 }, () => nextGaussian(draws));
      if (signedRank(differences).p <= 0.05) found++;
    }
    expect(Math.abs(found / 2000 - 0.05)).toBeLessThan(4 * Math.sqrt((0.05 * 0.95) / 2000));
  });
});

describe('holm', () => {
  it('by hand, and keeps the order in which p values were given', () => {
    expect(holm([0.01, 0.04, 0.03])).toEqual([0.03, 0.06, 0.06]);
    expect(holm([])).toEqual([]);
    expect(holm([0.9, 0.8])).toEqual([1, 1]);
  });
});

describe('exactRate', () => {
  it('by hand: none of 20 leaves up to 1 − 0.025^(1/20)', () => {
    const { low, high } = exactRate(0, 20);
    expect(low).toBe(0);
    expect(high).toBeCloseTo(1 - 0.025 ** (1 / 20), 9);
  });
  it('mirrors', () => {
    expect(exactRate(3, 24).high).toBeCloseTo(1 - exactRate(21, 24).low, 9);
  });
  it('knows nothing of no runs, and refuses what cannot be', () => {
    expect(exactRate(0, 0)).toEqual({ value: NaN, low: NaN, high: NaN });
    expect(() => exactRate(3, 2)).toThrow('exactRate: must be whole numbers 0 <= happened <= count, got 3 of 2');
    expect(() => exactRate(NaN, 2)).toThrow('got NaN of 2');
  });
  it('holds the true rate at least as often as it says', () => {
    const draws = stream('11', 'test/rate');
    let held = 0;
    for (let k = 0; k < 1500; k++) {
      let happened = 0;
      for (let r = 0; r < 30; r++) if (nextUniform(draws) < 0.1) happened++;
      const { low, high } = exactRate(happened, 30);
      if (low <= 0.1 && high >= 0.1) held++;
    }
    expect(held / 1500).toBeGreaterThan(0.95);
  });
});

describe('bootstrap', () => {
  it('gives no interval for fewer than 3, nor where resamples cannot be told', () => {
    expect(bootstrap(2, () => 1)).toEqual({ value: 1, low: NaN, high: NaN });
    expect(bootstrap(0, () => 1)).toEqual({ value: NaN, low: NaN, high: NaN });
    expect(bootstrap(5, () => NaN).low).toBeNaN();
  });
  it('is the same at every call', () => {
    const values = [3, 1, 4, 1, 5, 9, 2, 6];
    const figure = (chosen: Uint32Array) => centreOf('median', values, chosen);
    expect(bootstrap(8, figure)).toEqual(bootstrap(8, figure));
  });
});

describe('centreOf', () => {
  it('by hand', () => {
    expect(centreOf('mean', [1, 2, 6], [0, 1, 2])).toBe(3);
    expect(centreOf('rms', [3, 4], [0, 1])).toBeCloseTo(Math.sqrt(12.5), 12);
    expect(centreOf('median', [9, 1, 5, 7], [0, 1, 2, 3])).toBe(6);
    expect(centreOf('median', [9, 1, 5], [0, 1, 2])).toBe(5);
    expect(centreOf('mean', [], [])).toBeNaN();
  });
});

describe('paretoFront', () => {
  it('leaves out what another point beats; equals stand side by side; unknown never stands', () => {
    const points = [
      [1, 2],
      [2, 1],
      [2, 2],
      [1, 2],
      [NaN, 0],
    ];
    expect(paretoFront(points)).toEqual([true, true, false, true, false]);
  });
});

describe('crossing', () => {
  const cases = [
    [[0, 1, 2], [1, 1.5, 3], 2, 4 / 3, 'between two points'],
    [[0, 1, 2], [1, 1.5, 1.9], 2, null, 'never'],
    [[5, 6], [3, 4], 2, 5, 'from the first point on'],
    [[0, 1, 2], [1, NaN, 3], 2, null, 'nothing is known beyond a gap'],
  ] as const;
  it.each(cases)('%j %j %d', (xs, ys, limit, expected) => {
    const found = crossing(xs, ys, limit);
    if (expected === null) expect(found).toBeNull();
    else expect(found).toBeCloseTo(expected, 12);
  });
});

it('normalQuantile refuses shares that leave no number', () => {
  expect(() => normalQuantile(0)).toThrow('normalQuantile: p must lie between 0 and 1, got 0');
});
