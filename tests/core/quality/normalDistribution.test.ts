import { describe, expect, it } from 'vitest';
import { normalCritical, normalExceeds } from '../../../src/core/quality/normalDistribution.ts';

describe('normalExceeds', () => {
  const cases = [
    // z, P(Z > z), why
    [0, 0.5, 'half'],
    [1.6448536269514722, 0.05, 'the one-sided 5 % point'],
    [1.959963984540054, 0.025, 'the two-sided 5 % point'],
    [-1.959963984540054, 0.975, 'mirror image'],
    [2.999999999, 0.001349898036061942, 'end of the series'],
    [3.000000001, 0.0013498980271982445, 'beginning of the fraction'],
    [6, 9.865876450376981e-10, 'far tail (SciPy)'],
    [10, 7.619853024160525e-24, 'farther tail (SciPy)'],
    [-8, 1, 'all'],
    [NaN, NaN, 'NaN is passed on'],
  ] as const;
  it.each(cases)('of %d is %d', (z, expected, why) => {
    if (Number.isNaN(expected)) expect(normalExceeds(z), why).toBeNaN();
    else expect(Math.abs(normalExceeds(z) / expected - 1), why).toBeLessThan(1e-10);
  });

  it('is undone by normalCritical', () => {
    for (const p of [1e-9, 0.001, 0.025, 0.5, 0.9, 0.999]) {
      expect(Math.abs(normalExceeds(normalCritical(p)) / p - 1)).toBeLessThan(1e-9);
    }
  });

  it.each([[0], [1], [NaN], [-0.1]])('refuses a probability of %d', (p) => {
    expect(() => normalCritical(p)).toThrow(
      new RangeError(`normalCritical: probability must lie between 0 and 1, got ${p}`),
    );
  });
});
