import { describe, expect, it } from 'vitest';
import { honesty, quantile } from '../../../src/core/quality/honesty.ts';

describe('honesty', () => {
  it('is 1 for true claims, below 1 for rosy ones', () => {
    expect(honesty([2, 3], [2, 3])).toEqual({ expected: 1, median: 1, low: 1, high: 1, rosyShare: 0 });
    expect(honesty([1, 1], [2, 2])).toEqual({ expected: 0.5, median: 0.5, low: 0.5, high: 0.5, rosyShare: 1 });
  });

  it('compares powers over runs, not ratios of single runs: by hand', () => {
    // Claims of 5 and true noise of 1 and 7: √(50/50) = 1, though the single ratios are 5 and 5/7.
    const { expected, median, rosyShare } = honesty([5, 5], [1, 7]);
    expect(expected).toBe(1);
    expect(median).toBeCloseTo((5 + 5 / 7) / 2, 12);
    expect(rosyShare).toBe(0.5);
  });

  it.each([
    [[NaN, 1], [1, 1], 'a claim that cannot be told'],
    [[1, 1], [NaN, 1], 'a noise that is not known'],
    [[1], [0], 'no noise at all'],
  ])('of %j and %j cannot be told (%s)', (claims, noises) => {
    expect(honesty(claims, noises)).toEqual({ expected: NaN, median: NaN, low: NaN, high: NaN, rosyShare: NaN });
  });

  it('refuses lists that do not match', () => {
    expect(() => honesty([], [])).toThrow(/at least 1, got 0 and 0$/);
    expect(() => honesty([1], [1, 2])).toThrow(/got 1 and 2$/);
  });
});

describe('quantile', () => {
  it.each([
    [[1, 2, 4], 0.5, 2],
    [[1, 2, 4], 0.75, 3],
    [[1, 2, 4], 0, 1],
    [[1, 2, 4], 1, 4],
    [[5], 0.3, 5],
  ])('of %j at %d is %d', (values, share, expected) => {
    expect(quantile(values, share)).toBe(expected);
  });
});
