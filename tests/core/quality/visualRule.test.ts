import { describe, expect, it } from 'vitest';
import {
  averageGapUv,
  fallOverGap,
  fallOverGapOfGroups,
  fallReach,
  largestFall,
  visualReading,
  visualRule,
} from '../../../src/core/quality/visualRule.ts';
import { whiteSweeps } from './whiteSweeps.ts';

const of = (...values: number[]) => Float64Array.from(values);

describe('visualRule', () => {
  it.each([
    // deflection, gap, absent up to, verdict, why
    [0.375, 0.125, 0.025, 'present', 'exactly three times'],
    [0.149, 0.05, 0.025, 'cannot-tell', 'less, and the gap is too wide for an absence'],
    [0.07, 0.025, 0.025, 'absent', 'less, and the gap is narrow enough'],
    [0.07, 0.025, 0.02, 'cannot-tell', 'a stricter absence'],
    [0.5, 0, 0.025, 'present', 'no gap at all'],
    [0, 0, 0.025, 'absent', 'nothing and no gap'],
    [NaN, 0.02, 0.025, 'cannot-tell', 'no deflection known'],
    [0.5, NaN, 0.025, 'cannot-tell', 'no gap known'],
  ] as const)('%d µV over %d µV (absent up to %d): %s, %s', (deflection, gap, absent, verdict, _why) => {
    expect(visualRule(deflection, gap, absent)).toBe(verdict);
  });

  it('takes 25 nV for the widest gap of an absence (published values B08)', () => {
    expect(visualRule(0.05, 0.025)).toBe('absent');
    expect(visualRule(0.05, 0.0251)).toBe('cannot-tell');
  });
});

describe('averageGapUv', () => {
  it('is the mean distance', () => {
    expect(averageGapUv(of(1, 2, 9), of(2, 0, 9), 0, 2)).toBe(1.5);
    expect(averageGapUv(of(1, NaN), of(1, 1), 0, 2)).toBeNaN();
    expect(() => averageGapUv(of(1), of(1), 0, 2)).toThrow(/^averageGapUv: window/);
  });
});

describe('largestFall', () => {
  it.each([
    // trace, reach, fall, peak, trough, why
    [[0, 3, 1, -1], 3, 4, 1, 3, 'within reach'],
    [[0, 3, 1, -1], 1, 2, 1, 2, 'a shorter reach: the first of two equal falls'],
    [[-1, 0, 5], 2, 0, 0, 0, 'only rising'],
    [[2, 2, 2], 2, 0, 0, 0, 'flat'],
  ])('of %j with reach %i: %d (%s)', (trace, reach, fallUv, peak, trough) => {
    expect(largestFall(of(...trace), 0, trace.length, reach)).toEqual({ fallUv, peak, trough });
  });

  it('looks only into its window, and passes NaN on', () => {
    expect(largestFall(of(9, 1, 3, 2, -9), 1, 4, 3).fallUv).toBe(1);
    expect(largestFall(of(1, NaN), 0, 2, 1).fallUv).toBeNaN();
  });
});

describe('fallOverGap', () => {
  it('divides the fall by the gap, of traces and of groups alike', () => {
    expect(fallOverGap(of(1, -2, 0), of(2, -2, 0), of(0, -2, 1), 0, 3, 1)).toBe(3); // a fall of 3 over a gap of 1
    const groups = {
      groupCount: 2,
      pointCount: 3,
      sumsUv: of(4, -4, 0, 0, -2, 1),
      weights: of(2, 1),
      sweepsPerGroup: 2,
    };
    // Average (4, −6, 1)/3; halves (2, −2, 0) and (0, −2, 1).
    expect(fallOverGapOfGroups(3)(groups)).toBeCloseTo(10 / 3, 12);
  });

  it('is NaN where there is no gap, and a reach is a third of the window', () => {
    expect(fallOverGap(of(1, 0), of(1, 0), of(1, 0), 0, 2, 1)).toBeNaN();
    expect([fallReach(0, 2), fallReach(10, 40)]).toEqual([1, 10]);
  });
});

describe('visualReading', () => {
  // How often the largest fall anywhere in a window of pure noise passes for a response: our own figure, no source.
  it('is fooled by pure noise in about 7 of 100 averages when the deflection may lie anywhere', () => {
    let present = 0;
    for (let r = 0; r < 2000; r++) {
      const [a, b] = whiteSweeps(`visual/${r}`, 2, 30, () => 1).map((white) => {
        for (let i = 1; i < 30; i++) white[i] += 0.7 * white[i - 1];
        return white;
      });
      const average = a.map((value, i) => (value + b[i]) / 2);
      if (visualReading(average, a, b, 0, 30, 8).verdict === 'present') present++;
    }
    // 6.9 % here; standard error 0.57 %.
    expect(Math.abs(present / 2000 - 0.069)).toBeLessThan(4 * 0.0057);
  });
});
