import { describe, expect, it } from 'vitest';
import { SLOW } from './marking.ts';
import { textbookRun } from './outcomeClaims.ts';

const { mark, gain, lane } = textbookRun('look-up-quickly', 14);

describe('Look up, quickly', () => {
  it('a textbook learner does well', SLOW, () => {
    expect(mark().points).toBeGreaterThanOrEqual(85);
  });

  it('one long go shows far less than the response at full gaze, and less than half of it did, by 3 standard errors', () => {
    const one = gain('one', 'plain-mean');
    const half = gain('half', 'plain-mean');
    expect(one.value + 3 * one.error).toBeLessThan(0.8);
    expect(one.value).toBeLessThan(half.value);
  });

  it('trains with rests show nearly all of it', () => {
    for (const run of ['tens', 'yours']) {
      const { value, error } = gain(run, 'plain-mean');
      expect(error, run).toBeLessThan(0.1);
      expect(value + 3 * error, run).toBeGreaterThan(0.95);
      expect(value - 3 * error, run).toBeGreaterThan(gain('one', 'plain-mean').value);
    }
  });

  it('weights do not notice the gaze; the gate does, and keeps less than half of the bursts of one long go', () => {
    const plain = gain('one', 'plain-mean');
    expect(Math.abs(gain('one', 'block-weighting').value - plain.value)).toBeLessThan(0.1);
    const gated = gain('one', 'behaviour-gated');
    expect(gated.value - 3 * gated.error).toBeGreaterThan(plain.value);
    const shares = lane('one', 'behaviour-gated').usedShare;
    expect(shares.reduce((sum, share) => sum + share, 0) / shares.length).toBeLessThan(0.5);
  });
});
