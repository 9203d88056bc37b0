import { describe, expect, it } from 'vitest';
import { SLOW } from './marking.ts';
import { textbookRun } from './outcomeClaims.ts';

const { mark, gain, noiseRatio, honesty } = textbookRun('marked-its-own-homework');

describe('The sweep that marked its own homework', () => {
  it('a textbook learner does well', SLOW, () => {
    expect(mark().points).toBeGreaterThanOrEqual(85);
  });

  it('sweeps weighed by themselves shrink the response by a tenth, whatever its size, less in a wider band', () => {
    const [usual, large, narrow] = ['ines', 'large', 'narrow'].map((run) => gain(run, 'self-weighting'));
    for (const { value, error } of [usual, large, narrow]) expect(value + 3 * error).toBeLessThan(1);
    // 1 − 2/ν with ν near 18, as the introduction says.
    expect(Math.abs(usual.value - 0.89)).toBeLessThan(0.03);
    expect(1 - large.value).toBeGreaterThan(0.4 * (1 - usual.value));
    expect(1 - narrow.value + 3 * narrow.error).toBeLessThan(1 - usual.value);
  });

  it.each(['template-weighting', 'prestimulus-weighting', 'block-weighting'])(
    '%s keeps it, within 3 standard errors',
    (name) => {
      const { value, error } = gain('ines', name);
      expect(error).toBeLessThan(0.02);
      expect(Math.abs(value - 1)).toBeLessThan(3 * error);
    },
  );

  it('on Lena their claim is too low and blocks leave less, by 3 standard errors', () => {
    const claim = honesty('lena', 'self-weighting');
    expect(claim.value + 3 * claim.error).toBeLessThan(1);
    const { value, error } = noiseRatio('lena', 'self-weighting', 'block-weighting');
    expect(value - 3 * error).toBeGreaterThan(1);
  });
});
