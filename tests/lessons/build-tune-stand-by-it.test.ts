import { describe, expect, it } from 'vitest';
import { SLOW } from './marking.ts';
import { textbookRun } from './outcomeClaims.ts';

const { mark, gain, lane, noiseRatio } = textbookRun('build-tune-stand-by-it');

describe('Build it, tune it, stand by it', () => {
  it('a textbook learner does well', SLOW, () => {
    expect(mark().points).toBeGreaterThanOrEqual(80);
  });

  it('as bought, a tracker loses most of the response at a loose lead, by 3 standard errors', () => {
    const { value, error } = gain('as-bought', 'kalman');
    expect(value + 3 * error).toBeLessThan(0.5);
  });

  it('in the theatre the tracker is nearer than the plain mean and blocks, by 3 standard errors', () => {
    for (const of of ['plain-mean', 'block-weighting']) {
      const { value, error } = noiseRatio('sealed-11', of, 'kalman');
      expect(value - 3 * error, of).toBeGreaterThan(1);
    }
  });

  it('at the neck blocks lose a twentieth or more and the plain mean does not, by 3 standard errors', () => {
    const blocks = gain('sealed-13', 'block-weighting');
    expect(blocks.value + 3 * blocks.error).toBeLessThan(0.95);
    const plain = gain('sealed-13', 'plain-mean');
    expect(plain.value - blocks.value).toBeGreaterThan(3 * blocks.error);
  });

  it('no weight helps in an old room at a locked rate: each is as wrong as the plain mean, within a factor of two', () => {
    const plain = lane('as-bought-hum', 'plain-mean').noiseNv;
    const blocks = lane('as-bought-hum', 'block-weighting').noiseNv;
    for (const [r, noiseNv] of blocks.entries()) expect(noiseNv).toBeGreaterThan(plain[r] / 2);
  });
});
