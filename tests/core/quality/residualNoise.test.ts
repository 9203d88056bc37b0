import { describe, expect, it } from 'vitest';
import { checkWindow, residualNoiseUv } from '../../../src/core/quality/residualNoise.ts';
import { fillGaussian, stream } from '../../../src/core/random/stream.ts';

const of = (...values: number[]) => Float64Array.from(values);

describe('residualNoiseUv', () => {
  const cases = [
    // estimate, truth, from, to, expected, why
    [[1, 3], [0, 3], 0, 2, Math.SQRT1_2, 'by hand: √((1 + 0)/2)'],
    [[3, 3], [3, 3], 0, 2, 0, 'identical: nothing is left'],
    [[0, 0], [3, -4], 0, 2, Math.sqrt(12.5), 'the sign of an error does not matter'],
    [[9, 1, 9], [0, 0, 0], 1, 2, 1, 'only the window counts'],
    [[5, 5], [3, 3], 0, 2, 2, 'a constant error is an error'],
    [[NaN, 1], [0, 0], 0, 2, NaN, 'NaN is passed on, not skipped'],
    [[1, 1], [0, NaN], 0, 2, NaN, 'in the truth too'],
    [[NaN, 1], [0, 0], 1, 2, 1, 'outside the window it does not matter'],
  ] as const;
  it.each(cases)('%j against %j, %d to %d: %d', (estimate, truth, from, to, expected, why) => {
    const value = residualNoiseUv(of(...estimate), of(...truth), from, to);
    if (Number.isNaN(expected)) expect(value, why).toBeNaN();
    else expect(value, why).toBeCloseTo(expected, 12);
  });

  it('scales with the signals', () => {
    const [a, b] = [of(1, 2, 4), of(0, 1, -1)];
    const twice = (values: Float64Array) => values.map((value) => 2 * value);
    expect(residualNoiseUv(twice(a), twice(b), 0, 3)).toBe(2 * residualNoiseUv(a, b, 0, 3));
  });

  it('is the noise level on average: white noise of 5 µV, seed 7, 4 standard errors', () => {
    const noise = new Float64Array(10_000);
    fillGaussian(stream('7', 'test/residual'), noise, noise.length);
    const truth = noise.map((_, i) => Math.sin(i / 10));
    const estimate = noise.map((value, i) => truth[i] + 5 * value);
    expect(Math.abs(residualNoiseUv(estimate, truth, 0, 10_000) - 5)).toBeLessThan((4 * 5) / Math.sqrt(20_000));
  });
});

describe('checkWindow', () => {
  const four = new Float64Array(4);
  const bad = [
    // lengths, from, to, message, why
    [4, 5, 0, 4, 'probe: lengths must agree, got 4 and 5', 'other lengths'],
    [4, 4, 2, 2, 'probe: window must lie within 0 to 4, got 2 to 2', 'empty'],
    [4, 4, 3, 2, 'probe: window must lie within 0 to 4, got 3 to 2', 'backwards'],
    [4, 4, -1, 2, 'probe: window must lie within 0 to 4, got -1 to 2', 'before the sweep'],
    [4, 4, 0, 5, 'probe: window must lie within 0 to 4, got 0 to 5', 'beyond the sweep'],
    [4, 4, NaN, 2, 'probe: window must lie within 0 to 4, got NaN to 2', 'NaN fails'],
    [4, 4, 0, NaN, 'probe: window must lie within 0 to 4, got 0 to NaN', 'NaN fails'],
    [0, 0, 0, 0, 'probe: window must lie within 0 to 0, got 0 to 0', 'empty sweep'],
  ] as const;
  it.each(bad)('refuses lengths %d and %d, window %d to %d', (lengthA, lengthB, from, to, message, why) => {
    const check = () => checkWindow('probe', new Float64Array(lengthA), new Float64Array(lengthB), from, to);
    expect(check, why).toThrow(new RangeError(message));
  });

  it('takes the whole sweep and any part of it', () => {
    expect(() => checkWindow('probe', four, four, 0, 4)).not.toThrow();
    expect(() => checkWindow('probe', four, four, 3, 4)).not.toThrow();
  });

  it('guards the measures', () => {
    expect(() => residualNoiseUv(four, four, 0, 5)).toThrow(/^residualNoiseUv: window must lie within 0 to 4/);
  });
});
