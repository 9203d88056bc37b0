import { checkWindow } from '../quality/residualNoise.ts';
import { type Parabola, parabola } from './parabola.ts';

/** The noise left in an average, as far as reading peaks needs it. */
export interface NoiseShape {
  /** Noise of one sample, µV rms. */
  sampleUv: number;
  /** Noise of the value that `parabola` finds, µV rms. */
  valueUv(half: number): number;
  /** Noise of the difference of two such values so many samples apart, µV rms. */
  differenceUv(half: number, lag: number): number;
  /** Traces as long as the average that look like its noise: to see what becomes of a peak under other noise, µV. */
  examplesUv: readonly Float64Array[];
}

const EXAMPLES = 40; // our choice: a standard deviation from 40 is known to 11 %

/**
 * Takes the shape of the noise from the half-difference of two split buffers.
 *
 * The half-difference looks like the noise of the average: the same spectrum and, over many runs, the same size. One
 * run's size scatters by 1/√(2ν), so a steadier claim may be given: the shape is then scaled to it.
 *
 * @param halfDifferenceUv - ½(A − B) for equal buffers, µV   @param from - first sample to use   @param to - after the last
 * @param claimUv - residual noise to scale to, µV rms; NaN keeps the size as it is
 * @throws {RangeError} if the window is empty or outside
 */
export function noiseShape(
  halfDifferenceUv: Float64Array,
  from: number,
  to: number,
  sampleRateHz: number,
  claimUv = NaN,
): NoiseShape {
  checkWindow('noiseShape', halfDifferenceUv, halfDifferenceUv, from, to);
  const rms = (values: readonly number[]) => {
    let sum = 0;
    for (const value of values) sum += value * value;
    return Math.sqrt(sum / values.length);
  };
  const samplesUv = rms(Array.from(halfDifferenceUv.subarray(from, to)));
  const scale = claimUv >= 0 && samplesUv > 0 ? claimUv / samplesUv : 1;
  const length = halfDifferenceUv.length;
  // Turned around by steps of 1/20 of the sweep, either way up: noise forgets sooner than that.
  const examplesUv = Array.from({ length: EXAMPLES }, (_, k) => {
    const turn = Math.round(((Math.floor(k / 2) + 0.5) * 2 * length) / EXAMPLES);
    const factor = k % 2 === 0 ? scale : -scale;
    return Float64Array.from({ length }, (__, i) => factor * halfDifferenceUv[(i + turn) % length]);
  });
  const known = new Map<number, Parabola[]>();
  const fits = (half: number) => {
    const count = Math.max(0, to - from - 2 * half);
    const made =
      known.get(half) ??
      Array.from({ length: count }, (_, k) => parabola(halfDifferenceUv, from + half + k, half, sampleRateHz));
    known.set(half, made);
    return made;
  };
  return {
    sampleUv: scale * samplesUv,
    valueUv: (half) => scale * rms(fits(half).map((fit) => fit.valueUv)),
    differenceUv(half, lag) {
      const values = fits(half).map((fit) => fit.valueUv);
      // Too far apart for the window: as good as independent.
      if (!(lag < values.length / 2)) return scale * Math.SQRT2 * rms(values);
      return scale * rms(values.slice(lag).map((value, k) => value - values[k]));
    },
    examplesUv,
  };
}

/** No noise at all: for reading the truth. */
export const NO_NOISE: NoiseShape = {
  sampleUv: 0,
  valueUv: () => 0,
  differenceUv: () => 0,
  examplesUv: [],
};
