import { describe, expect, it } from 'vitest';
import { SLOW } from './marking.ts';
import { textbookRun } from './outcomeClaims.ts';

const { mark, gain, lane, honesty } = textbookRun('loud-muscle', 12);

describe('Loud muscle, true signal', () => {
  it('a textbook learner does well', SLOW, () => {
    expect(mark().points).toBeGreaterThanOrEqual(85);
  });

  it('at ±50 µV more than half of the response is cut off, by 3 standard errors', () => {
    const { value, error } = gain('narrow', 'plain-mean');
    expect(value + 3 * error).toBeLessThan(0.5);
  });

  it('weights against muscle shrink it, the more the more effort wanders; the plain mean does not', () => {
    const [self, blocks, plain] = ['self-weighting', 'block-weighting', 'plain-mean'].map((name) =>
      gain('unsteady', name),
    );
    expect(self.value + 3 * self.error).toBeLessThan(blocks.value);
    expect(blocks.value + 3 * blocks.error).toBeLessThan(gain('wide', 'block-weighting').value);
    expect(Math.abs(plain.value - 1)).toBeLessThan(3 * plain.error);
    expect(plain.error).toBeLessThan(0.05);
  });

  it('the one that shrinks it most claims least: less than half of its error', () => {
    const { value, error } = honesty('unsteady', 'self-weighting');
    expect(value + 3 * error).toBeLessThan(0.5);
  });

  it('a line at ±200 µV keeps less than three sweeps in ten of any patient’s, on average', () => {
    const shares = lane('wide', 'threshold-rejection').usedShare;
    expect(shares.reduce((sum, share) => sum + share, 0) / shares.length).toBeLessThan(0.3);
  });
});
