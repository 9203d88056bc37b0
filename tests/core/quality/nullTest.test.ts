import { describe, expect, it } from 'vitest';
import { evenPoints, fRatio, fRatioOfGroups, varianceUv2 } from '../../../src/core/quality/fsp.ts';
import { groupedSweeps, type SweepGroups } from '../../../src/core/quality/groupedSweeps.ts';
import { bootstrapTest, signFlipTest } from '../../../src/core/quality/nullTest.ts';
import { splitCorrelationOfGroups } from '../../../src/core/quality/splitCorrelation.ts';
import { whiteSweeps } from './whiteSweeps.ts';

const LENGTH = 24;

function gather(sweeps: Float64Array[], weight: (k: number) => number = () => 1): SweepGroups {
  const gatherer = groupedSweeps(0, LENGTH);
  for (const [k, sweepUv] of sweeps.entries()) gatherer.add(sweepUv, weight(k));
  return gatherer.groups();
}

/** Noise that is alike from point to point, so that a sweep has fewer independent numbers than points. */
function coloured(seed: string, count: number, size: (k: number) => number, responseUv?: (i: number) => number) {
  return whiteSweeps(seed, count, LENGTH + 7, size).map((white) =>
    Float64Array.from({ length: LENGTH }, (_, i) => {
      let sum = 0;
      for (let j = 0; j < 8; j++) sum += white[i + j] / Math.sqrt(8);
      return sum + (responseUv?.(i) ?? 0);
    }),
  );
}

const statistics = [
  ['Fsp at one point', fRatioOfGroups(LENGTH, [12])],
  ['Fmp at eight points', fRatioOfGroups(LENGTH, evenPoints(LENGTH, 8))],
  ['split correlation', splitCorrelationOfGroups(LENGTH)],
] as const;
const tests = [
  ['signFlipTest', signFlipTest],
  ['bootstrapTest', bootstrapTest],
] as const;

describe.each(tests)('%s', (_test, test) => {
  // 200 recordings × 3 statistics × 99 draws: standard error of a 5 % rate is 1.5 %, of a 50 % rate 3.5 %.
  it.each(statistics)('is right about chance for %s: coloured noise that swells', (_name, statistic) => {
    let alarms = 0;
    let below = 0;
    for (let r = 0; r < 200; r++) {
      const groups = gather(coloured(`chance/${r}`, 120, (k) => (k % 30 < 10 ? 4 : 1)));
      const { p } = test(groups, statistic, 99, `chance/${r}`);
      if (p <= 0.05) alarms++;
      if (p <= 0.5) below++;
    }
    expect(Math.abs(alarms / 200 - 0.05)).toBeLessThan(4 * Math.sqrt((0.05 * 0.95) / 200));
    expect(Math.abs(below / 200 - 0.5)).toBeLessThan(4 * Math.sqrt(0.25 / 200));
  });

  it.each(statistics)('finds a response of twice the noise of its average with %s', (_name, statistic) => {
    let found = 0;
    for (let r = 0; r < 20; r++) {
      // 120 sweeps of 1 µV: noise of the mean 0.09 µV, response 0.26 µV rms.
      const groups = gather(
        coloured(
          `hit/${r}`,
          120,
          () => 1,
          (i) => 0.37 * Math.sin((2 * Math.PI * i) / LENGTH),
        ),
      );
      if (test(groups, statistic, 199, `hit/${r}`).p <= 0.05) found++;
    }
    expect(found).toBeGreaterThanOrEqual(16);
  });

  it('is reproducible by its seed, and holds for weights', () => {
    const groups = gather(
      coloured('weights', 300, (k) => 1 + (k % 5)),
      (k) => 1 / (1 + (k % 5)) ** 2,
    );
    const first = test(groups, statistics[1][1], 99, 'a');
    expect(test(groups, statistics[1][1], 99, 'a')).toEqual(first);
    expect(test(groups, statistics[1][1], 99, 'b').chance).not.toEqual(first.chance);
    expect(first.chance).toEqual(first.chance.slice().sort());
    expect(first.p).toBeGreaterThan(0.01); // no response in it
  });

  it('gives no p where the statistic cannot be told, and refuses too few groups', () => {
    const flat = gather(Array.from({ length: 40 }, () => new Float64Array(LENGTH)));
    expect(test(flat, statistics[0][1], 19, 'flat').p).toBeNaN();
    const few = gather(whiteSweeps('few', 11, LENGTH, () => 1));
    expect(() => test(few, () => 1, 19, 'few')).toThrow(/groups must be at least 6, got 5$/);
    expect(() => test(flat, () => 1, 0, 'none')).toThrow(/draws must be >= 1, got 0$/);
  });
});

describe('signFlipTest', () => {
  it('counts the value itself: p cannot be 0', () => {
    const groups = gather(
      whiteSweeps(
        'sure',
        40,
        LENGTH,
        () => 0.01,
        () => 5,
      ),
    );
    const sum = ({ sumsUv }: SweepGroups) => Math.abs(sumsUv.reduce((total, value) => total + value, 0));
    expect(signFlipTest(groups, sum, 99, 'sure').p).toBe(0.01);
  });
});

describe('fRatio', () => {
  it.each([
    // average, noise², points, expected, why
    [[1, -1], [0.5, 4], [0], 2, 'one point: Fsp'],
    [[1, -1], [0.5, 1.5], [0, 1], 1, 'several: their mean'],
    [[3, 3], [1, 1], [0], 0, 'an offset is no response'],
    [[1, -1], [0, 1], [0], NaN, 'no noise, no ratio'],
    [[1, NaN], [1, 1], [0], NaN, 'NaN is passed on'],
  ])('of %j over %j at %j: %d', (average, noise, points, expected, why) => {
    expect(fRatio(Float64Array.from(average), Float64Array.from(noise), points), why).toBe(expected);
  });

  it('refuses points outside, and none', () => {
    const one = Float64Array.of(1);
    expect(() => fRatio(one, one, [1])).toThrow(new RangeError('fRatio: points must lie within 0 to 0, got 1'));
    expect(() => fRatio(one, one, [])).toThrow(/at least 1, got none$/);
    expect(() => evenPoints(4, 5)).toThrow(/count must lie within 1 to 4, got 5$/);
  });

  it('spreads points over the window', () => {
    expect(evenPoints(10, 2)).toEqual([2, 7]);
    expect(evenPoints(3, 3)).toEqual([0, 1, 2]);
    expect(varianceUv2(Float64Array.of(1, 3))).toBe(1);
  });
});
