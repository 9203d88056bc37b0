import { describe, expect, it } from 'vitest';
import { fourier } from '../../src/core/fourier.ts';

describe('fourier', () => {
  it('is the sum of the definition, and comes back', () => {
    const length = 32;
    const signal = Float64Array.from({ length }, (_, t) => Math.sin(t * t) + (t === 3 ? 5 : 0));
    const real = signal.slice();
    const imaginary = new Float64Array(length);
    const { forward, inverse } = fourier(length);
    forward(real, imaginary);
    for (let f = 0; f < length; f++) {
      const terms = Array.from(signal, (value, t) => [
        value * Math.cos((2 * Math.PI * f * t) / length),
        -value * Math.sin((2 * Math.PI * f * t) / length),
      ]);
      expect(real[f]).toBeCloseTo(
        terms.reduce((sum, [cosine]) => sum + cosine, 0),
        10,
      );
      expect(imaginary[f]).toBeCloseTo(
        terms.reduce((sum, [, sine]) => sum + sine, 0),
        10,
      );
    }
    inverse(real, imaginary);
    for (let t = 0; t < length; t++) expect(real[t]).toBeCloseTo(signal[t], 12);
  });

  it.each([0, 1, 3, 48, Number.NaN])('refuses the length %d', (length) => {
    expect(() => fourier(length)).toThrow(`fourier: length must be a power of two from 2 to 1048576, got ${length}`);
  });
});
