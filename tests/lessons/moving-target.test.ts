import { describe, expect, it } from 'vitest';
import { SLOW } from './marking.ts';
import { textbookRun } from './outcomeClaims.ts';

const { mark, lane, noiseRatio, honesty } = textbookRun('moving-target');

describe('Moving target', () => {
  it('a textbook learner does well', SLOW, () => {
    expect(mark().points).toBeGreaterThanOrEqual(80);
  });

  const worse = [
    ['moving-tried', 'plain-mean', 'kalman@0.000002', 'old sweeps are wrong evidence'],
    ['moving-tried', 'block-weighting', 'kalman@0.000002', 'weights do not know that they are old'],
    ['moving-tried', 'kalman@1e-7', 'kalman@0.000002', 'too long a memory'],
    ['moving-tried', 'kalman@0.0001', 'kalman@0.000002', 'too short a memory'],
    ['still-tried', 'kalman@0.00001', 'kalman@1e-7', 'what is forgotten cannot be averaged'],
  ] as const;
  it.each(worse)('%s: %s is further off than %s by 3 standard errors: %s', (run, of, to) => {
    const { value, error } = noiseRatio(run, of, to);
    expect(value - 3 * error).toBeGreaterThan(1);
  });

  it('the plain mean cannot see it: its claim is less than a third of its error, its halves agree', () => {
    const { value, error } = honesty('moving-tried', 'plain-mean');
    expect(value + 3 * error).toBeLessThan(1 / 3);
    for (const r of lane('moving-tried', 'plain-mean').splitCorrelation) expect(r).toBeGreaterThan(0.7);
  });

  it('a tracker’s own noise stays on the floor (Q·R)^¼, within a tenth', () => {
    // Floor of the steady scalar Kalman filter for Q much smaller than R; R from the introduction, 1.75 µV.
    const claims = lane('still-tried', 'kalman@0.000002').ownNoiseNv;
    const meanNv = claims.reduce((sum, value) => sum + value, 0) / claims.length;
    expect(meanNv / (1000 * (2e-6 * 1.75 ** 2) ** 0.25)).toBeGreaterThan(0.9);
    expect(meanNv / (1000 * (2e-6 * 1.75 ** 2) ** 0.25)).toBeLessThan(1.1);
  });
});
