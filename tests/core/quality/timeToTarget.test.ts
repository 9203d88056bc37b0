import { describe, expect, it } from 'vitest';
import { timeToTarget } from '../../../src/core/quality/timeToTarget.ts';

describe('timeToTarget', () => {
  const cases = [
    // noise, target, expected, why
    [[90, 35, 50, 38, 30], 40, 3, 'a dip that does not last does not count'],
    [[90, 50, 38, 30], 40, 2, 'there, and stays'],
    [[90, 50, 40], 40, 2, 'exactly at the target is there'],
    [[30, 20, 10], 40, 0, 'from the first'],
    [[90, 80, 70], 40, -1, 'never'],
    [[30, 30, 41], 40, -1, 'there, but not for good'],
    [[NaN, NaN, 30], 40, 2, 'NaN is not there yet'],
    [[30, NaN, 30], 40, 2, 'nor in between'],
    [[30, 30, NaN], 40, -1, 'nor at the end'],
    [[Infinity, 10], 40, 1, 'a block that is not full yet'],
    [[10], 40, 0, 'one checkpoint'],
    [[], 40, -1, 'none'],
    [[10, 5], 0, -1, 'no noise at all is out of reach'],
    [[10, 5], NaN, -1, 'NaN is no target'],
  ] as const;
  it.each(cases)('%j to %d: %d', (noise, target, expected, why) => {
    expect(timeToTarget(noise, target), why).toBe(expected);
    expect(timeToTarget(Float64Array.from(noise), target), why).toBe(expected);
  });
});
