import { describe, expect, it } from 'vitest';
import { detectionMatrix, shareInterval } from '../../../src/core/quality/detectionMatrix.ts';
import type { Verdict } from '../../../src/core/quality/visualRule.ts';

const runs = (aboveThresholdDb: number, ...verdicts: Verdict[]) =>
  verdicts.map((verdict) => ({ aboveThresholdDb, verdict }));

describe('detectionMatrix', () => {
  it('counts each level, and what is wrong depends on the side of the threshold', () => {
    const matrix = detectionMatrix([
      ...runs(10, 'present', 'present', 'absent', 'cannot-tell'),
      ...runs(-5, 'present', 'absent', 'absent'),
      ...runs(0, 'absent'),
    ]);
    expect(matrix.rows.map((row) => row.aboveThresholdDb)).toEqual([-5, 0, 10]);
    expect(matrix.rows.map((row) => [row.presentCount, row.absentCount, row.cannotTellCount])).toEqual([
      [1, 2, 0],
      [0, 1, 0],
      [2, 1, 1],
    ]);
    expect(matrix.rows.map((row) => row.wrongShare)).toEqual([1 / 3, 1, 1 / 4]);
    expect(matrix.falsePresent).toBe(1 / 3);
    expect(matrix.falseAbsent).toBe(2 / 5);
    expect(matrix.cannotTell).toBe(1 / 8);
  });

  it('has no rate where there is no run', () => {
    const matrix = detectionMatrix(runs(10, 'present'));
    expect(matrix.falsePresent).toBeNaN();
    expect(detectionMatrix([]).cannotTell).toBeNaN();
    expect(() => detectionMatrix(runs(NaN, 'present'))).toThrow(/levels must be numbers, got NaN$/);
  });
});

describe('shareInterval', () => {
  it.each([
    [0, 10, 0, 0.2775],
    [10, 10, 0.7225, 1],
    [5, 10, 0.2366, 0.7634], // textbook example of Wilson's interval
  ])('%i of %i: %d to %d', (hits, count, low, high) => {
    const interval = shareInterval(hits, count);
    expect(interval.low).toBeCloseTo(low, 4);
    expect(interval.high).toBeCloseTo(high, 4);
  });

  it('of nothing cannot be told', () => {
    expect(shareInterval(0, 0)).toEqual({ low: NaN, high: NaN });
  });
});
