import { type Static, Type } from '@sinclair/typebox';
import { power } from '../elementary.ts';
import { fourier } from '../fourier.ts';
import { quantity, wholeNumber } from '../scenario/quantity.ts';
import { type AveragingContext, type AveragingStrategy, belongsToA } from './strategy.ts';
import { FLAGGED_SENTENCE, verdictTeller } from './verdictTeller.ts';

export const bandWeightingParameters = Type.Object(
  {
    bandCount: wholeNumber('bands', 5, 1, 16, 'bands that are weighted each by itself'),
    lowestHz: quantity('Hz', 150, 0.1, 20000, 'upper edge of the lowest band'),
    highestHz: quantity('Hz', 1200, 0.2, 30000, 'lower edge of the highest band'),
    startSweeps: wholeNumber(
      'sweeps',
      50,
      2,
      10000,
      'so many sweeps count the same, until there is an average to take off',
    ),
    before: wholeNumber('sweeps', 4, 0, 50, 'sweeps before it whose power is averaged with its own'),
    varianceFloorUv2: quantity(
      'µV²',
      0.05,
      0,
      1000,
      'added to the power in each band, so that no quiet sweep takes over',
    ),
  },
  { description: 'weights per sweep and frequency band', additionalProperties: false },
);

/**
 * Weights each sweep band by band: noise that fills one band costs the sweep nothing in the others.
 *
 *     w[k, b] = v₁[b] / (power in band b of x − average before, mean of k − 4 … k, + v₀),   first sweeps w = 1
 *     average = Σ_b (Σ_k w[k, b]·x_b[k] / Σ_k w[k, b]),   x_b the part of x in band b
 *
 * v₁[b] is the variance of the first sweeps in the band. The sweep is joined end to start by a straight line, so that it
 * can be taken as periodic; the bands are sharp, so edges ring a little where the weights of neighbours differ. As with
 * left-over power, a poor first average biases a little, and a response that grows with the noise is marked down.
 * A band holds few independent numbers: without the sweeps before, a sweep that chance has put near the average would
 * count far too much, and the average would confirm itself.
 * The claim takes the noise to be as large in the analysis window as in the rest of the sweep.
 */
export const bandWeighting: AveragingStrategy<Static<typeof bandWeightingParameters>> = {
  id: 'band-weighting',
  scenarioKey: 'bandWeighting',
  label: 'Band by band',
  summary: 'Each sweep is weighted in each frequency band by itself, by what is left over there.',
  parameters: bandWeightingParameters,
  timing: 'online',
  approximateShares: true,
  create(context, { bandCount, lowestHz, highestHz, startSweeps, before: past, varianceFloorUv2 }, listener) {
    if (!(highestHz > lowestHz)) {
      throw new RangeError(`bandWeighting: highestHz must be > lowestHz (${lowestHz}), got ${highestHz}`);
    }
    const { samplesPerSweep, respectFlags } = context;
    let length = 2;
    while (length < samplesPerSweep) length *= 2;
    const transform = fourier(length);
    const bandOf = bandOfFrequency(context, length, bandCount, lowestHz, highestHz);
    const tell = verdictTeller(listener);
    const [real, imaginary, averageReal, averageImaginary] = [0, 0, 0, 0].map(() => new Float64Array(length));
    const sumsReal = [new Float64Array(length), new Float64Array(length)]; // buffers A and B, by frequency
    const sumsImaginary = [new Float64Array(length), new Float64Array(length)];
    const weightSums = [new Float64Array(bandCount), new Float64Array(bandCount)];
    const weights = new Float64Array(bandCount);
    const powers = new Float64Array(bandCount);
    const recent: Float64Array[] = []; // powers of the last sweeps
    const starts = new Float64Array(bandCount); // sum of the powers of the first sweeps
    const squares = new Float64Array(bandCount);
    const scatter = new Float64Array(bandCount); // Σ w²·r²
    let used = 0;

    /** Puts a sweep into `real`, joined end to start. */
    function load(sweepUv: Float64Array): void {
      const last = sweepUv[samplesPerSweep - 1];
      const steps = length - samplesPerSweep + 1;
      for (let i = 0; i < samplesPerSweep; i++) real[i] = sweepUv[i];
      for (let i = samplesPerSweep; i < length; i++) {
        real[i] = last + ((sweepUv[0] - last) * (i - samplesPerSweep + 1)) / steps;
      }
      imaginary.fill(0);
    }

    function average(outReal: Float64Array, outImaginary: Float64Array, buffers: readonly number[]): void {
      outReal.fill(0);
      outImaginary.fill(0);
      for (let f = 0; f < length; f++) {
        let weight = 0;
        for (const buffer of buffers) {
          weight += weightSums[buffer][bandOf[f]];
          outReal[f] += sumsReal[buffer][f];
          outImaginary[f] += sumsImaginary[buffer][f];
        }
        outReal[f] /= weight;
        outImaginary[f] /= weight;
      }
    }

    function readBuffers(outUv: Float64Array, buffers: readonly number[]): void {
      average(real, imaginary, buffers);
      transform.inverse(real, imaginary);
      outUv.set(real.subarray(0, samplesPerSweep));
    }

    /** Works out the weight of each band from what is left over. Returns the mean weight. */
    function weigh(): number {
      powers.fill(0);
      for (let f = 0; f < length; f++) {
        const differenceReal = real[f] - averageReal[f];
        const differenceImaginary = imaginary[f] - averageImaginary[f];
        const square = differenceReal * differenceReal + differenceImaginary * differenceImaginary;
        powers[bandOf[f]] += square / length / length; // Parseval: mean square over time
      }
      const kept = recent.length > past ? (recent.shift() as Float64Array) : new Float64Array(bandCount);
      kept.set(powers);
      recent.push(kept);
      let sum = 0;
      for (let b = 0; b < bandCount; b++) {
        const reference = starts[b] / (startSweeps - 1) + varianceFloorUv2;
        let powerUv2 = varianceFloorUv2;
        for (const one of recent) powerUv2 += one[b] / recent.length;
        weights[b] = used < startSweeps ? 1 : powerUv2 > 0 ? reference / powerUv2 : 0;
        sum += weights[b];
      }
      return sum / bandCount;
    }

    return {
      add(sweepUv, meta) {
        if (respectFlags && meta.overRange) return tell(meta.index, 0, 'flagged', NaN, NaN);
        load(sweepUv);
        transform.forward(real, imaginary);
        if (used > 0) average(averageReal, averageImaginary, [0, 1]);
        const weight = weigh();
        let restUv2 = 0;
        for (let b = 0; b < bandCount; b++) {
          const before = weightSums[0][b] + weightSums[1][b];
          restUv2 += powers[b];
          // Welford's factor takes the doubt of the average out; the first sweep has nothing to be compared with.
          const own = before > 0 ? (powers[b] * before) / (before + weights[b]) : 0;
          if (used < startSweeps) starts[b] += own;
          scatter[b] += weights[b] * weights[b] * own;
          squares[b] += weights[b] * weights[b];
        }
        const buffer = belongsToA(meta.index) ? 0 : 1;
        for (let f = 0; f < length; f++) {
          sumsReal[buffer][f] += weights[bandOf[f]] * real[f];
          sumsImaginary[buffer][f] += weights[bandOf[f]] * imaginary[f];
        }
        for (let b = 0; b < bandCount; b++) weightSums[buffer][b] += weights[b];
        const start = used < startSweeps;
        used++;
        tell(meta.index, weight, weight < 0.5 ? 'down-weighted' : 'taken', start ? NaN : Math.sqrt(restUv2), NaN);
      },
      read: (outUv) => readBuffers(outUv, [0, 1]),
      readPair(outAUv, outBUv) {
        readBuffers(outAUv, [0]);
        readBuffers(outBUv, [1]);
      },
      ownNoiseUv() {
        if (used < 2) return NaN;
        let noiseUv2 = 0;
        for (let b = 0; b < bandCount; b++) {
          const sum = weightSums[0][b] + weightSums[1][b];
          if (sum > 0) noiseUv2 += scatter[b] / sum / sum;
        }
        return Math.sqrt((noiseUv2 * used) / (used - 1));
      },
      usedCount: () => used,
      effectiveCount() {
        let harmonic = 0; // the bands add their variances, so their counts add as reciprocals, weighted by power
        let total = 0;
        for (let b = 0; b < bandCount; b++) {
          const sum = weightSums[0][b] + weightSums[1][b];
          if (!(squares[b] > 0) || !(starts[b] > 0)) continue;
          harmonic += (starts[b] * squares[b]) / sum / sum;
          total += starts[b];
        }
        return harmonic > 0 ? total / harmonic : used;
      },
    };
  },
  explain({ reason, weight, measureUv }) {
    if (reason === 'flagged') return FLAGGED_SENTENCE;
    if (Number.isNaN(measureUv))
      return 'Counted like its neighbours in every band: the first sweeps all count the same.';
    const share = `${weight.toPrecision(2)} times the share of a first sweep, on average over the bands`;
    return `${reason === 'taken' ? 'Counted' : 'Marked down'}: ${share}; ${measureUv.toFixed(2)} µV rms are left over.`;
  },
};

/** Band of each bin: bands between the two edges are equally wide in octaves; negative frequencies belong to positive. */
function bandOfFrequency(
  { sampleRateHz }: AveragingContext,
  length: number,
  bandCount: number,
  lowestHz: number,
  highestHz: number,
): Uint8Array {
  const edgesHz = Array.from({ length: bandCount - 1 }, (_, b) =>
    bandCount === 2 ? lowestHz : lowestHz * power(highestHz / lowestHz, b / (bandCount - 2)),
  );
  return Uint8Array.from({ length }, (_, f) => {
    const frequencyHz = (Math.min(f, length - f) * sampleRateHz) / length;
    return edgesHz.filter((edgeHz) => frequencyHz >= edgeHz).length;
  });
}
