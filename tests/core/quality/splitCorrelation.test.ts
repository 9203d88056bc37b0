import { describe, expect, it } from 'vitest';
import { splitCorrelation } from '../../../src/core/quality/splitCorrelation.ts';
import { fillGaussian, stream } from '../../../src/core/random/stream.ts';

const of = (...values: number[]) => Float64Array.from(values);

describe('splitCorrelation', () => {
  const cases = [
    // A, B, from, to, expected, why
    [[1, 2, 3], [2, 4, 6], 0, 3, 1, 'size does not matter'],
    [[1, 2, 3], [12, 13, 14], 0, 3, 1, 'nor does an offset'],
    [[1, 2, 3], [3, 2, 1], 0, 3, -1, 'upside down'],
    [[1, 0, -1, 0], [0, 1, 0, -1], 0, 4, 0, 'a quarter of a period apart'],
    [[1, 2, 3, 4], [1, 3, 2, 4], 0, 4, 0.8, 'by hand: 4/5'],
    [[9, 1, 2], [-9, 1, 2], 1, 3, 1, 'only the window counts'],
    [[1, NaN, 3], [1, 2, 3], 0, 3, NaN, 'NaN is passed on'],
    [[1, 2, 3], [1, NaN, 3], 0, 3, NaN, 'in the other buffer too'],
    [[5], [3], 0, 1, NaN, 'one point does not correlate'],
  ] as const;
  it.each(cases)('%j with %j, %d to %d: %d', (a, b, from, to, expected, why) => {
    const value = splitCorrelation(of(...a), of(...b), from, to);
    if (Number.isNaN(expected)) expect(value, why).toBeNaN();
    else expect(value, why).toBeCloseTo(expected, 12);
  });

  // Means of such constants round, so that what is left is not exactly 0.
  it.each([[0], [0.1], [0.3], [1 / 3], [49.998], [-123.456], [1e-9], [1e6]])(
    'a flat buffer of %d has none',
    (level) => {
      for (const length of [3, 7, 10, 176, 320]) {
        const flat = new Float64Array(length).fill(level);
        const wave = Float64Array.from({ length }, (_, i) => Math.sin(i));
        expect(splitCorrelation(flat, wave, 0, length), `flat A, ${length}`).toBeNaN();
        expect(splitCorrelation(wave, flat, 0, length), `flat B, ${length}`).toBeNaN();
        expect(splitCorrelation(flat, flat, 0, length), `both flat, ${length}`).toBeNaN();
      }
    },
  );

  it('tells a small wave on a large offset from a flat line', () => {
    const wave = Float64Array.from({ length: 100 }, (_, i) => 1000 + 1e-6 * Math.sin(i));
    expect(splitCorrelation(wave, wave, 0, 100)).toBeCloseTo(1, 6);
  });

  it('does not overflow or underflow', () => {
    for (const size of [1e-150, 1e150]) {
      const wave = Float64Array.from({ length: 10 }, (_, i) => size * Math.sin(i));
      expect(splitCorrelation(wave, wave, 0, 10)).toBeCloseTo(1, 9);
    }
  });

  it('is s²/(s² + n²) on average: 400 pairs, seed 7, 4 standard errors', () => {
    const draws = stream('7', 'test/split');
    const values = Array.from({ length: 400 }, () => {
      const [a, b] = [new Float64Array(200), new Float64Array(200)];
      for (const buffer of [a, b]) {
        fillGaussian(draws, buffer, 200);
        for (let i = 0; i < 200; i++) buffer[i] += Math.SQRT2 * Math.sin((2 * Math.PI * i) / 25); // both of power 1
      }
      return splitCorrelation(a, b, 0, 200);
    });
    const middle = values.reduce((sum, value) => sum + value, 0) / 400;
    const sd = Math.sqrt(values.reduce((sum, value) => sum + (value - middle) ** 2, 0) / 400);
    expect(Math.abs(middle - 0.5)).toBeLessThan((4 * sd) / 20 + 0.005); // 0.005: bias of r with 200 points
  });

  it('refuses an impossible window', () => {
    expect(() => splitCorrelation(of(1), of(1), 0, 2)).toThrow(/^splitCorrelation: window must lie within 0 to 1/);
  });
});
