import { describe, expect, it } from 'vitest';
import { rmsOf } from '../../src/core/quality/replicates.ts';
import { SLOW } from './marking.ts';
import { textbookRun } from './outcomeClaims.ts';

const { mark, gain, lane, noiseRatio } = textbookRun('calm-enough');

describe('Calm enough', () => {
  it('a textbook learner does well', SLOW, () => {
    expect(mark().points).toBeGreaterThanOrEqual(80);
  });

  const worse = [
    ['calm', 'threshold-rejection', 'block-weighting', 'a guessed line is seldom the right one'],
    ['calm', 'adaptive-rejection', 'block-weighting', 'its memory is shorter than a bad spell'],
    ['calm', 'plain-mean', 'block-weighting', 'spells enter at full weight'],
    ['restless', 'plain-mean', 'block-weighting', 'here too'],
  ] as const;
  it.each(worse)('%s: %s is noisier than %s by 3 standard errors: %s', (run, of, to) => {
    const { value, error } = noiseRatio(run, of, to);
    expect(value - 3 * error).toBeGreaterThan(1);
  });

  it('on a restless day no honest average is at 40 nV after four minutes', () => {
    for (const name of ['plain-mean', 'threshold-rejection', 'adaptive-rejection', 'block-weighting']) {
      const { noiseNv } = lane('restless', name);
      expect(rmsOf(noiseNv, [...noiseNv.keys()]), name).toBeGreaterThan(44);
    }
  });

  it('sweeps weighed by themselves have lost part of the response, by 3 standard errors', () => {
    const { value, error } = gain('calm', 'self-weighting');
    expect(value + 3 * error).toBeLessThan(1);
  });
});
