import { describe, expect, it } from 'vitest';
import {
  constantLimit,
  familywiseRate,
  type Spending,
  spendingLimits,
  spentAlpha,
} from '../../../src/core/quality/repeatedLooks.ts';
import { nextGaussian, stream } from '../../../src/core/random/stream.ts';

/** |z| of the mean of growing data without an effect, at equally spaced looks. */
function chanceRuns(seed: string, runCount: number, lookCount: number): Float64Array[] {
  const draws = stream(seed, 'test/looks');
  return Array.from({ length: runCount }, () => {
    let sum = 0;
    return Float64Array.from({ length: lookCount }, (_, look) => {
      sum += nextGaussian(draws);
      return Math.abs(sum) / Math.sqrt(look + 1);
    });
  });
}

const fifths = [0.2, 0.4, 0.6, 0.8, 1];

describe('spentAlpha', () => {
  it.each(['pocock', 'obrien-fleming'] as const)(
    '%s spends nothing at first, all in the end, never takes back',
    (rule) => {
      expect(spentAlpha(rule, 0, 0.05)).toBe(0);
      expect(spentAlpha(rule, 1, 0.05)).toBeCloseTo(0.05, 12);
      const spent = fifths.map((share) => spentAlpha(rule, share, 0.05));
      expect(spent).toEqual([...spent].sort((a, b) => a - b));
    },
  );

  it('Pocock spends early, O’Brien and Fleming late: by formula', () => {
    expect(spentAlpha('pocock', 0.5, 0.05)).toBeCloseTo(0.05 * Math.log(1 + (Math.E - 1) / 2), 12);
    // 2·P(Z > 1.96/√½) = 2·P(Z > 2.7718) = 0.005575
    expect(spentAlpha('obrien-fleming', 0.5, 0.05)).toBeCloseTo(0.005575, 5);
  });

  it('refuses what cannot be', () => {
    expect(() => spentAlpha('pocock', 1.1, 0.05)).toThrow(/share must lie within 0 to 1, got 1.1$/);
    expect(() => spentAlpha('pocock', 1, 0)).toThrow(/alpha must lie between 0 and 1, got 0$/);
  });
});

describe('familywiseRate', () => {
  it.each([
    [
      [
        [1, 3],
        [1, 1],
      ],
      2,
      0.5,
      'one of two runs',
    ],
    [
      [
        [3, 3],
        [1, 1],
      ],
      2,
      0.5,
      'a run counts once',
    ],
    [[[2, 2]], 2, 0, 'on the limit is not above it'],
    [[[NaN, NaN]], 2, 0, 'NaN never exceeds'],
  ])('of %j above %d: %d (%s)', (runs, limit, expected) => {
    expect(familywiseRate(runs, limit)).toBe(expected);
  });

  it('takes a limit for each look', () => {
    expect(
      familywiseRate(
        [
          [3, 1],
          [1, 3],
        ],
        [Infinity, 2],
      ),
    ).toBe(0.5); // prettier-ignore
    expect(() => familywiseRate([], 1)).toThrow(/at least 1 run/);
  });
});

describe('limits from runs without a response', () => {
  const found = chanceRuns('find', 8000, 5);
  const fresh = chanceRuns('check', 8000, 5);
  // Found on 8000 runs, checked on 8000 others: standard error of a 5 % rate √2·0.24 %.
  const tolerance = 4 * Math.SQRT2 * Math.sqrt((0.05 * 0.95) / 8000);

  it('one constant limit keeps the whole error at 5 %', () => {
    expect(Math.abs(familywiseRate(fresh, constantLimit(found, 0.05)) - 0.05)).toBeLessThan(tolerance);
  });

  it.each(['pocock', 'obrien-fleming'] as const)('%s spends what it may, look by look', (rule: Spending) => {
    const limits = spendingLimits(found, fifths, 0.05, rule);
    for (const look of [0, 2, 4]) {
      const upTo = fresh.map((run) => run.slice(0, look + 1));
      expect(Math.abs(familywiseRate(upTo, limits) - spentAlpha(rule, fifths[look], 0.05))).toBeLessThan(tolerance);
    }
    expect(Math.abs(familywiseRate(found, limits) - 0.05)).toBeLessThan(1e-9); // on its own runs exactly
  });

  it('O’Brien and Fleming ask much at first and little at the end', () => {
    const limits = spendingLimits(found, fifths, 0.05, 'obrien-fleming');
    expect(limits[0]).toBeGreaterThan(limits[2]);
    expect(limits[2]).toBeGreaterThan(limits[4]);
    expect(Math.abs(limits[4] - 2.04)).toBeLessThan(0.08);
  });

  it('may not decide where less than one run may be spent', () => {
    expect(spendingLimits(chanceRuns('few', 100, 5), fifths, 0.05, 'obrien-fleming')[0]).toBe(Infinity);
  });

  it('refuses too few runs and looks that do not match', () => {
    const few = chanceRuns('few', 19, 5);
    expect(() => constantLimit(few, 0.05)).toThrow(
      new RangeError('constantLimit: at least 20 runs are needed, got 19'),
    );
    expect(() => spendingLimits(few, fifths, 0.05, 'pocock')).toThrow(/at least 20 runs are needed, got 19$/);
    expect(() => spendingLimits(chanceRuns('x', 20, 4), fifths, 0.05, 'pocock')).toThrow(/must have 5 looks$/);
  });
});
