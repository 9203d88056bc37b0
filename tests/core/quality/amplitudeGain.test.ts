import { describe, expect, it } from 'vitest';
import { amplitudeGain, GAIN_BOUNDS } from '../../../src/core/quality/amplitudeGain.ts';
import { fillGaussian, stream } from '../../../src/core/random/stream.ts';

const of = (...values: number[]) => Float64Array.from(values);

describe('amplitudeGain', () => {
  const cases = [
    // estimate, truth, from, to, expected, why
    [[2, 4], [2, 4], 0, 2, 1, 'all of it'],
    [[1, 2], [2, 4], 0, 2, 0.5, 'half of it'],
    [[-2, -4], [2, 4], 0, 2, -1, 'upside down'],
    [[0, 0], [2, 4], 0, 2, 0, 'nothing of it'],
    [[4, -2], [2, 4], 0, 2, 0, 'orthogonal: none of it is the response'],
    [[3, 1], [1, 1], 0, 2, 2, 'by hand: (3 + 1)/2'],
    [[9, 1], [9, 2], 1, 2, 0.5, 'only the window counts'],
    [[1, 2], [0, 0], 0, 2, NaN, 'no response, no gain'],
    [[1, 2], [5, 0], 1, 2, NaN, 'nor where it is silent in the window'],
    [[NaN, 2], [2, 4], 0, 2, NaN, 'NaN is passed on'],
    [[1, 2], [NaN, 4], 0, 2, NaN, 'in the truth too'],
  ] as const;
  it.each(cases)('%j of %j, %d to %d: %d', (estimate, truth, from, to, expected, why) => {
    const value = amplitudeGain(of(...estimate), of(...truth), from, to);
    if (Number.isNaN(expected)) expect(value, why).toBeNaN();
    else expect(value, why).toBeCloseTo(expected, 12);
  });

  it('is unbiased by noise, and scattered by e/rms/√points: 300 sweeps, seed 7, 4 standard errors', () => {
    const draws = stream('7', 'test/gain');
    const noise = new Float64Array(100);
    const truth = noise.map((_, i) => Math.sin((2 * Math.PI * i) / 20)); // rms √½
    const gains = Array.from({ length: 300 }, () => {
      fillGaussian(draws, noise, 100);
      return amplitudeGain(
        noise.map((value, i) => 0.8 * truth[i] + 0.5 * value),
        truth,
        0,
        100,
      );
    });
    const expectedSd = 0.5 / Math.SQRT1_2 / Math.sqrt(100);
    const middle = gains.reduce((sum, gain) => sum + gain, 0) / 300;
    const sd = Math.sqrt(gains.reduce((sum, gain) => sum + (gain - middle) ** 2, 0) / 300);
    expect(Math.abs(middle - 0.8)).toBeLessThan((4 * expectedSd) / Math.sqrt(300));
    expect(Math.abs(sd - expectedSd)).toBeLessThan((4 * expectedSd) / Math.sqrt(600));
  });

  it('refuses an impossible window', () => {
    expect(() => amplitudeGain(of(1), of(1), 0, 2)).toThrow(
      /^amplitudeGain: window must lie within 0 to 1, got 0 to 2$/,
    );
    expect(() => amplitudeGain(of(1), of(1, 2), 0, 1)).toThrow(/^amplitudeGain: lengths must agree/);
  });

  it('has bounds on both sides of 1', () => {
    expect(GAIN_BOUNDS[0]).toBeLessThan(1);
    expect(GAIN_BOUNDS[1]).toBeGreaterThan(1);
  });
});
