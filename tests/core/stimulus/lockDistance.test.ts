import { describe, expect, it } from 'vitest';
import { cosineOfCycles, sineOfCycles } from '../../../src/core/elementary.ts';
import { lockDistance } from '../../../src/core/stimulus/lockDistance.ts';

const cases = [
  // rate, line, harmonics, distance, why
  [25, 50, 7, 0, 'two whole cycles from click to click'],
  [20, 50, 1, 0.5, 'two and a half cycles: the fundamental half-locks'],
  [20, 50, 2, 0, 'five whole cycles of the second harmonic'],
  [100 / 3, 50, 1, 0.5, 'one and a half cycles'],
  [31, 50, 7, 2 / 31, 'the 5th: 250/31 = 8 + 2/31, by hand'],
  [31, 60, 7, 2 / 31, 'the 1st: 60/31 = 2 − 2/31, by hand'],
  [27.7, 50, 7, 0.7 / 27.7, 'the 5th: 250 − 9 × 27.7 = 0.7, by hand'],
  [1e9, 50, 1, 5e-8, 'a rate far above the line never turns'],
] as const;

const refused = [
  [0, 50, 7, 'ratePerS must be > 0, got 0'],
  [NaN, 50, 7, 'ratePerS must be > 0, got NaN'],
  [Infinity, 50, 7, 'ratePerS must be > 0, got Infinity'],
  [25, -50, 7, 'lineHz must be > 0, got -50'],
  [25, 50, 0, 'harmonicCount must be a whole number >= 1, got 0'],
  [25, 50, 1.5, 'harmonicCount must be a whole number >= 1, got 1.5'],
] as const;

describe('lockDistance', () => {
  it.each(cases)('of %d/s from %d Hz, %d harmonics, is %d: %s', (rate, line, harmonics, distance) => {
    expect(lockDistance(rate, line, harmonics)).toBeCloseTo(distance, 12);
  });

  it.each(refused)('refuses %d, %d, %d: %s', (rate, line, harmonics, message) => {
    expect(() => lockDistance(rate, line, harmonics)).toThrow(message);
  });

  it('is the x of the residual |sin(πNx)/(N·sin(πx))| of a mean of N sweeps, summed phase by phase', () => {
    // The formula of the docstring (geometric series, common practice) against the sum that it stands for.
    const [rate, line, count] = [27.7, 50, 200];
    const x = lockDistance(rate, 5 * line, 1); // of the 5th harmonic alone
    let cosines = 0;
    let sines = 0;
    for (let k = 0; k < count; k++) {
      cosines += cosineOfCycles((k * 5 * line) / rate) / count;
      sines += sineOfCycles((k * 5 * line) / rate) / count;
    }
    const formula = Math.abs(sineOfCycles((count * x) / 2) / (count * sineOfCycles(x / 2)));
    expect(Math.sqrt(cosines * cosines + sines * sines)).toBeCloseTo(formula, 9);
  });
});
