import { mean, standardError } from './sampleStatistics.ts';

/** One-sided power spectra of long recordings, cut into segments whose scatter gives the standard error. */

/** Fourier transform in place, radix 2 (Cooley and Tukey 1965). */
function transform(real: Float64Array, imaginary: Float64Array): void {
  const length = real.length;
  for (let i = 1, j = 0; i < length; i++) {
    let bit = length >> 1;
    for (; j & bit; bit >>= 1) j ^= bit;
    j ^= bit;
    if (i < j) {
      [real[i], real[j]] = [real[j], real[i]];
      [imaginary[i], imaginary[j]] = [imaginary[j], imaginary[i]];
    }
  }
  for (let size = 2; size <= length; size *= 2) {
    const half = size / 2;
    for (let k = 0; k < half; k++) {
      const cos = Math.cos((2 * Math.PI * k) / size);
      const sin = -Math.sin((2 * Math.PI * k) / size);
      for (let at = k; at < length; at += size) {
        const re = real[at + half] * cos - imaginary[at + half] * sin;
        const im = real[at + half] * sin + imaginary[at + half] * cos;
        real[at + half] = real[at] - re;
        imaginary[at + half] = imaginary[at] - im;
        real[at] += re;
        imaginary[at] += im;
      }
    }
  }
}

/** Power density of each Hann-windowed segment, unit²/Hz, at k·rate/segmentLength for k = 0 … segmentLength/2. */
function segmentSpectra(signal: Float64Array, sampleRateHz: number, segmentLength: number): Float64Array[] {
  const window = Float64Array.from(
    { length: segmentLength },
    (_, i) => 1 - Math.cos((2 * Math.PI * i) / segmentLength),
  );
  const windowPower = window.reduce((sum, w) => sum + w * w, 0);
  const spectra: Float64Array[] = [];
  for (let from = 0; from + segmentLength <= signal.length; from += segmentLength) {
    const real = signal.slice(from, from + segmentLength);
    const imaginary = new Float64Array(segmentLength);
    for (let i = 0; i < segmentLength; i++) real[i] *= window[i];
    transform(real, imaginary);
    spectra.push(
      Float64Array.from(
        { length: segmentLength / 2 + 1 },
        (_, k) => (2 * (real[k] ** 2 + imaginary[k] ** 2)) / (windowPower * sampleRateHz),
      ),
    );
  }
  return spectra;
}

export interface BandPower {
  /** Power within the band, unit². */
  power: number;
  standardError: number;
  /** The middles of the first and last bin, less and plus half a bin: what to integrate a formula over. */
  fromHz: number;
  toHz: number;
}

/** Measures the power of a signal within bands; segments are taken to be independent. */
export function bandPowers(
  signal: Float64Array,
  sampleRateHz: number,
  segmentLength: number,
  bandsHz: readonly (readonly [number, number])[],
): BandPower[] {
  const spectra = segmentSpectra(signal, sampleRateHz, segmentLength);
  const binHz = sampleRateHz / segmentLength;
  return bandsHz.map(([lowHz, highHz]) => {
    const first = Math.ceil(lowHz / binHz);
    const last = Math.floor(highHz / binHz);
    const powers = spectra.map((spectrum) => {
      let sum = 0;
      for (let k = first; k <= last; k++) sum += spectrum[k] * binHz;
      return sum;
    });
    return {
      power: mean(powers),
      standardError: standardError(powers),
      fromHz: (first - 0.5) * binHz,
      toHz: (last + 0.5) * binHz,
    };
  });
}

/** Integrates a density over a band by the midpoint rule in 2000 steps. */
export function integrate(density: (hz: number) => number, fromHz: number, toHz: number): number {
  const stepHz = (toHz - fromHz) / 2000;
  let sum = 0;
  for (let k = 0; k < 2000; k++) sum += density(fromHz + (k + 0.5) * stepHz) * stepHz;
  return sum;
}
