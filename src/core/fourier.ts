import { cosineOfCycles, sineOfCycles } from './elementary.ts';

/** A discrete Fourier transform of one fixed length. */
export interface Fourier {
  /** X[f] = Σ x[t]·e^(−2πi·f·t/n), in place. */
  forward(real: Float64Array, imaginary: Float64Array): void;
  /** x[t] = (1/n)·Σ X[f]·e^(2πi·f·t/n), in place. */
  inverse(real: Float64Array, imaginary: Float64Array): void;
}

/**
 * Makes the fast Fourier transform of a length that is a power of two.
 *
 * Radix 2, decimation in time (J. W. Cooley and J. W. Tukey, Math. Comput. 19, 1965). Sines from `elementary.ts`, so
 * every engine gives the same bits.
 *
 * @throws {RangeError} if the length is not a power of two from 2 to 2^20
 * @example const r = Float64Array.of(1, 2); fourier(2).forward(r, new Float64Array(2)); r // 3, −1
 */
export function fourier(length: number): Fourier {
  if (!(length >= 2 && length <= 1048576 && (length & (length - 1)) === 0)) {
    throw new RangeError(`fourier: length must be a power of two from 2 to 1048576, got ${length}`);
  }
  const half = length >> 1;
  const cosine = Float64Array.from({ length: half }, (_, k) => cosineOfCycles(k / length));
  const sine = Float64Array.from({ length: half }, (_, k) => sineOfCycles(k / length));
  const swap = new Uint32Array(length); // place of each sample with the bits of its number reversed
  for (let k = 1; k < length; k++) swap[k] = (swap[k >> 1] >> 1) | (k & 1 ? half : 0);

  function transform(real: Float64Array, imaginary: Float64Array): void {
    for (let k = 0; k < length; k++) {
      const other = swap[k];
      if (other <= k) continue;
      const keptReal = real[k];
      real[k] = real[other];
      real[other] = keptReal;
      const keptImaginary = imaginary[k];
      imaginary[k] = imaginary[other];
      imaginary[other] = keptImaginary;
    }
    for (let width = 1, step = half; width < length; width *= 2, step >>= 1) {
      for (let start = 0; start < length; start += 2 * width) {
        for (let k = 0; k < width; k++) {
          const c = cosine[k * step];
          const s = sine[k * step];
          const upper = start + k;
          const lower = upper + width;
          const turnedReal = c * real[lower] + s * imaginary[lower];
          const turnedImaginary = c * imaginary[lower] - s * real[lower];
          real[lower] = real[upper] - turnedReal;
          imaginary[lower] = imaginary[upper] - turnedImaginary;
          real[upper] += turnedReal;
          imaginary[upper] += turnedImaginary;
        }
      }
    }
  }

  return {
    forward: transform,
    inverse(real, imaginary) {
      transform(imaginary, real); // the conjugate transform: real and imaginary parts change places
      for (let k = 0; k < length; k++) {
        real[k] /= length;
        imaginary[k] /= length;
      }
    },
  };
}
