import { describe, expect, it } from 'vitest';
import { breakdownLevel } from '../../../src/core/quality/breakdown.ts';

const curve = (...points: [number, number, number][]) => points.map(([level, noise, gain]) => ({ level, noise, gain }));

describe('breakdownLevel', () => {
  it.each([
    // curve of level, noise, gain; ε*, cause, why
    [curve([0, 10, 1], [1, 30, 1]), 0.5, 'noise', 'noise doubles half way'],
    [curve([0, 10, 1], [0.5, 15, 1], [1, 25, 1]), 0.75, 'noise', 'on the second piece'],
    [curve([0, 10, 1], [1, 10, 0.8]), 0.5, 'gain', 'the response shrinks'],
    [curve([0, 10, 1], [1, 10, 1.2]), 0.5, 'gain', 'or grows'],
    [curve([0, 10, 1], [1, 40, 0.8]), 1 / 3, 'noise', 'whichever comes first'],
    [curve([0, 10, 1], [1, 19, 0.95]), Infinity, 'none', 'holds'],
    [curve([0, 10, 0.85], [1, 10, 1]), 0, 'gain', 'broken from the start'],
    [curve([0, 10, NaN], [1, 30, NaN]), 0.5, 'noise', 'no response, no gain'],
    [curve([0, 10, 1], [1, 30, 1], [2, 10, 1]), 0.5, 'noise', 'it may recover: the first crossing counts'],
  ] as const)('of %j: %d by %s (%s)', (points, level, cause, _why) => {
    const found = breakdownLevel(points);
    expect(found.cause).toBe(cause);
    if (Number.isFinite(level)) expect(found.level).toBeCloseTo(level, 12);
    else expect(found.level).toBe(level);
  });

  it('gives a gain that noise alone may have moved the benefit of the doubt', () => {
    const doubtful = [
      { level: 0, noise: 10, gain: 1 },
      { level: 1, noise: 10, gain: 1.3, gainLow: 0.95, gainHigh: 1.7 },
    ];
    expect(breakdownLevel(doubtful).cause).toBe('none');
    doubtful[1] = { level: 1, noise: 10, gain: 0.6, gainLow: 0.5, gainHigh: 0.8 };
    expect(breakdownLevel(doubtful).level).toBeCloseTo(0.5, 12);
    expect(breakdownLevel(doubtful).cause).toBe('gain');
  });

  it('refuses fewer than two points and levels that do not rise', () => {
    expect(() => breakdownLevel(curve([0, 1, 1]))).toThrow(/needs at least 2 points, got 1$/);
    expect(() => breakdownLevel(curve([1, 1, 1], [1, 1, 1]))).toThrow(/levels must rise, got 1 after 1$/);
  });
});
