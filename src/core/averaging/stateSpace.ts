import { type Static, Type } from '@sinclair/typebox';
import { inverse, Matrix, solve } from 'ml-matrix';
import { cosineOfCycles, sineOfCycles } from '../elementary.ts';
import { quantity, wholeNumber } from '../scenario/quantity.ts';
import { removeBaseline } from './baseline.ts';
import { splineBasis } from './splineBasis.ts';
import { type AveragingStrategy, belongsToA } from './strategy.ts';
import { FLAGGED_SENTENCE, verdictTeller } from './verdictTeller.ts';
import { weightedPair } from './weightedPair.ts';

export const stateSpaceParameters = Type.Object(
  {
    lineHz: quantity('Hz', 50, 1, 1000, 'frequency of the mains'),
    harmonicCount: wholeNumber('', 7, 0, 12, 'harmonics of the mains that are followed; 0 = none'),
    basisSize: wholeNumber(
      'curves',
      12,
      4,
      64,
      'curves that stand for the response while mains and drift are told apart',
    ),
    responseChangeUv2: quantity('µV²', 0, 0, 1, 'Q: how much the response may change from sweep to sweep; 0 = never'),
    mainsChangeUv2: quantity('µV²', 1e-3, 0, 1000, 'how much each harmonic may change from sweep to sweep'),
    driftChangeUv2: quantity('µV²', 0.01, 0, 1e6, 'how much the drift may change from sweep to sweep'),
    noiseMemory: quantity('', 0.3, 0, 0.999, 'ρ: share of the old noise estimate kept at each sweep'),
    noiseFloorUv2: quantity('µV²', 0.01, 0, 1000, 'R is never taken to be smaller'),
  },
  { description: 'state-space tracking of response, drift and mains', additionalProperties: false },
);

// First uncertainties in units of the power of the first sweep, our choice: so much that nothing is assumed, and in
// proportion to the recording, so that its unit does not matter.
const FIRST_RESPONSE = 1e2;
const FIRST_NUISANCE = 1e4;
const LARGEST_FIRST_UV2 = 1e8; // µV², our choice: beyond it the digits of a double would not do
const COLOUR_MEMORY = 0.99; // per sweep, our choice: the spectrum of the noise changes slowly

/**
 * A Kalman filter over response, drift and mains together; what it makes of drift and mains is taken off each sweep.
 *
 *     state z = [c (curves of the response), d, d' (drift and its slope), (a, b) of each harmonic]
 *     x(t) = Σ c_b·B_b(t since the stimulus, while the sweep lasts) + d + d'·t + Σ_h a_h·cos 2πhf₀t + b_h·sin 2πhf₀t + noise
 *     between sweeps: c, a and b walk, d moves on by d';   P = (P⁻¹ + H'H/R)⁻¹,   z += P·H'(x − H·z)/R
 *     average: of the sweeps without drift and mains, with Kalman gains of R and Q as in the scalar filter
 *
 * It hears the recording between the sweeps, where there is no response: inside a locked window mains and response
 * cannot be told apart. The curves only have to keep the response out of drift and mains, so a basis too small does not
 * clip the shape of the average; what it cannot express leaks. Noise is not white: R for the states is scaled by how
 * much of it falls on the curves. Own noise = the larger of √P of the average and √(B·P·B') over the window: where the
 * mains are not told apart, it says so. What it errs in drift and mains from sweep to sweep is not in the claim: with some
 * 30 ms heard per sweep that is 3 %, with 6 ms and seven harmonics the noise left is 1.8 times the claim. Matrices by ml-matrix, whose LU decomposition uses + − × ÷ only.
 */
export const stateSpace: AveragingStrategy<Static<typeof stateSpaceParameters>> = {
  id: 'state-space',
  scenarioKey: 'stateSpace',
  label: 'State-space tracking',
  summary: 'Follows drift and mains through the recording, between the sweeps too, and takes them off each sweep.',
  parameters: stateSpaceParameters,
  timing: 'online',
  approximateShares: true,
  subtracts: true,
  usesInterval: true,
  create(context, setting, listener) {
    const { samplesPerSweep, sampleRateHz, preSampleCount, analysisFrom, analysisTo, respectFlags } = context;
    const { lineHz, harmonicCount, basisSize, responseChangeUv2, mainsChangeUv2, driftChangeUv2 } = setting;
    const postCount = samplesPerSweep - preSampleCount;
    if (!(postCount >= 1))
      throw new RangeError(`stateSpace: the sweep must go on after the stimulus, got ${postCount} samples`);
    const basis = splineBasis(basisSize, postCount);
    const nuisanceCount = 2 + 2 * harmonicCount;
    const stateCount = basisSize + nuisanceCount;
    const state = new Float64Array(stateCount);
    let covariance = Matrix.zeros(stateCount, stateCount);
    const gramOfBasis = Matrix.zeros(stateCount, stateCount);
    for (let i = 0; i < postCount; i++) {
      for (let j = 0; j < 4; j++) {
        for (let k = 0; k < 4; k++) {
          const row = basis.first(i) + j;
          const column = basis.first(i) + k;
          gramOfBasis.set(row, column, gramOfBasis.get(row, column) + basis.value(i, j) * basis.value(i, k));
        }
      }
    }
    const basisInverse = inverse(gramOfBasis.subMatrix(0, basisSize - 1, 0, basisSize - 1));
    const pair = weightedPair(samplesPerSweep);
    const tell = verdictTeller(listener);
    const cleanUv = new Float64Array(samplesPerSweep);
    const takenUv = new Float64Array(samplesPerSweep);
    const gradient = new Float64Array(stateCount);
    const crossed = new Float64Array(basisSize);
    const steps = Array.from({ length: harmonicCount }, (_, h) => [
      cosineOfCycles(((h + 1) * lineHz) / sampleRateHz),
      sineOfCycles(((h + 1) * lineHz) / sampleRateHz),
    ]);
    let curves = new Float64Array(0); // nuisance curves, one after the other, for the samples heard with this sweep
    let capacity = 0;
    let lastTimeS = NaN;
    let noiseUv2 = NaN; // R per sample
    let colour = 1;
    let colourCount = 0;
    let averageDoubtUv2 = NaN;
    let weightSum = 0;

    /** Sets the first uncertainties. */
    function begin(powerUv2: number): void {
      const unitUv2 = Math.min(powerUv2, LARGEST_FIRST_UV2 / FIRST_NUISANCE);
      covariance = Matrix.zeros(stateCount, stateCount);
      for (let s = 0; s < stateCount; s++) {
        covariance.set(s, s, unitUv2 * (s < basisSize ? FIRST_RESPONSE : FIRST_NUISANCE));
      }
      averageDoubtUv2 = FIRST_NUISANCE * powerUv2;
    }

    /** Writes the nuisance curves at `count` samples, the first of which is number `firstSample` of the recording. */
    function fillCurves(firstSample: number, count: number, stimulusAt: number): void {
      if (count > capacity) {
        capacity = count;
        curves = new Float64Array(nuisanceCount * capacity);
      }
      for (let i = 0; i < count; i++) {
        curves[i] = 1;
        curves[capacity + i] = (i - stimulusAt) / sampleRateHz;
      }
      for (let h = 0; h < harmonicCount; h++) {
        // Turning the phasor from sample to sample costs two products; the phase is exact at the first sample.
        const cycles = ((h + 1) * lineHz * firstSample) / sampleRateHz;
        const [turnCosine, turnSine] = steps[h];
        let cosine = cosineOfCycles(cycles);
        let sine = sineOfCycles(cycles);
        const at = (2 + 2 * h) * capacity;
        for (let i = 0; i < count; i++) {
          curves[at + i] = cosine;
          curves[at + capacity + i] = sine;
          const turned = cosine * turnCosine - sine * turnSine;
          sine = cosine * turnSine + sine * turnCosine;
          cosine = turned;
        }
      }
    }

    /** Lets the time to this sweep pass for the state. */
    function predict(timeS: number): void {
      const passedS = Number.isNaN(lastTimeS) ? 0 : timeS - lastTimeS;
      lastTimeS = timeS;
      const drift = basisSize;
      const slope = basisSize + 1;
      state[drift] += passedS * state[slope];
      for (let s = 0; s < stateCount; s++) {
        covariance.set(drift, s, covariance.get(drift, s) + passedS * covariance.get(slope, s));
      }
      for (let s = 0; s < stateCount; s++) {
        covariance.set(s, drift, covariance.get(s, drift) + passedS * covariance.get(s, slope));
      }
      for (let s = 0; s < stateCount; s++) {
        const change = s < basisSize ? responseChangeUv2 : s < basisSize + 2 ? driftChangeUv2 : mainsChangeUv2;
        covariance.set(s, s, covariance.get(s, s) + change);
      }
    }

    /** H'H over the samples heard: curves of the response on each other are known, the rest is summed. */
    function gramMatrix(count: number, offset: number): Matrix {
      const gram = gramOfBasis.clone();
      for (let q = 0; q < nuisanceCount; q++) {
        const at = q * capacity;
        for (let p = 0; p <= q; p++) {
          const other = p * capacity;
          let sum = 0;
          for (let i = 0; i < count; i++) sum += curves[at + i] * curves[other + i];
          gram.set(basisSize + q, basisSize + p, sum);
          gram.set(basisSize + p, basisSize + q, sum);
        }
        crossed.fill(0);
        for (let i = 0; i < postCount; i++) {
          const first = basis.first(i);
          const value = curves[at + offset + i];
          for (let j = 0; j < 4; j++) crossed[first + j] += basis.value(i, j) * value;
        }
        for (let s = 0; s < basisSize; s++) {
          gram.set(s, basisSize + q, crossed[s]);
          gram.set(basisSize + q, s, crossed[s]);
        }
      }
      return gram;
    }

    /** Writes H'(x − H·z) to `gradient`. Returns the mean square of x − H·z. */
    function innovation(samplesUv: Float64Array, offset: number): number {
      const count = samplesUv.length;
      gradient.fill(0);
      let squares = 0;
      for (let i = 0; i < count; i++) {
        let rest = samplesUv[i];
        for (let q = 0; q < nuisanceCount; q++) rest -= state[basisSize + q] * curves[q * capacity + i];
        const post = i - offset;
        if (post >= 0) {
          const first = basis.first(post);
          for (let j = 0; j < 4; j++) rest -= state[first + j] * basis.value(post, j);
          for (let j = 0; j < 4; j++) gradient[first + j] += basis.value(post, j) * rest;
        }
        for (let q = 0; q < nuisanceCount; q++) gradient[basisSize + q] += curves[q * capacity + i] * rest;
        squares += rest * rest;
      }
      return squares / count;
    }

    /** How much more noise falls on each curve of the response than white noise of the same size would put there. */
    function followColour(powerUv2: number): void {
      if (!(powerUv2 > 0)) return;
      let onCurves = 0;
      for (let s = 0; s < basisSize; s++) {
        for (let r = 0; r < basisSize; r++) onCurves += gradient[s] * basisInverse.get(s, r) * gradient[r];
      }
      colourCount = 1 + COLOUR_MEMORY * colourCount;
      colour += (onCurves / basisSize / powerUv2 - colour) / colourCount;
    }

    function update(gram: Matrix, scaledUv2: number): void {
      // (P⁻¹ + M/R)⁻¹ = (I + P·M/R)⁻¹·P: P itself need not be inverted.
      const inner = covariance.mmul(gram).div(scaledUv2);
      for (let s = 0; s < stateCount; s++) inner.set(s, s, inner.get(s, s) + 1);
      covariance = solve(inner, covariance);
      for (let s = 0; s < stateCount; s++) {
        for (let r = 0; r < s; r++) {
          const middle = 0.5 * (covariance.get(s, r) + covariance.get(r, s)); // rounding would slowly make it lopsided
          covariance.set(s, r, middle);
          covariance.set(r, s, middle);
        }
      }
      for (let s = 0; s < stateCount; s++) {
        let sum = 0;
        for (let r = 0; r < stateCount; r++) sum += covariance.get(s, r) * gradient[r];
        state[s] += sum / scaledUv2;
      }
    }

    /** Mean over the window of B·P·B': the filter's own doubt about the response. */
    function responseDoubtUv2(): number {
      let sum = 0;
      const from = Math.max(analysisFrom - preSampleCount, 0);
      const to = analysisTo - preSampleCount;
      for (let i = from; i < to; i++) {
        const first = basis.first(i);
        for (let j = 0; j < 4; j++) {
          for (let k = 0; k < 4; k++) {
            sum += basis.value(i, j) * basis.value(i, k) * covariance.get(first + j, first + k);
          }
        }
      }
      return to > from ? sum / (to - from) : 0;
    }

    return {
      add(sweepUv, meta) {
        predict(meta.timeS);
        const fade = pair.usedCount() > 0 ? averageDoubtUv2 / (averageDoubtUv2 + responseChangeUv2) : 1;
        if (respectFlags && meta.overRange) {
          averageDoubtUv2 += responseChangeUv2; // time passes for the response all the same
          return tell(meta.index, 0, 'flagged', NaN, NaN, fade);
        }
        const samplesUv = meta.interval?.samplesUv ?? sweepUv;
        const count = samplesUv.length;
        const sweepFrom = count - samplesPerSweep;
        const stimulusAt = sweepFrom + preSampleCount;
        const firstSample = meta.interval?.firstSample ?? Math.round(meta.timeS * sampleRateHz) - samplesPerSweep;
        fillCurves(firstSample, count, stimulusAt);
        const gram = gramMatrix(count, stimulusAt);
        const powerUv2 = innovation(samplesUv, stimulusAt);
        const first = Number.isNaN(noiseUv2);
        if (first) {
          noiseUv2 = powerUv2;
          begin(Math.max(powerUv2, setting.noiseFloorUv2, 1e-12));
        } else {
          followColour(powerUv2);
          const doubtUv2 = traceOfProduct(gram, covariance) / count;
          const freshUv2 = (powerUv2 * noiseUv2) / (noiseUv2 + doubtUv2);
          noiseUv2 = setting.noiseMemory * noiseUv2 + (1 - setting.noiseMemory) * freshUv2;
        }
        noiseUv2 = Math.max(noiseUv2, setting.noiseFloorUv2, 1e-12);
        update(gram, noiseUv2 * Math.max(1, colour));

        takenUv.fill(0);
        for (let q = 0; q < nuisanceCount; q++) {
          const size = state[basisSize + q];
          for (let i = 0; i < samplesPerSweep; i++) takenUv[i] += size * curves[q * capacity + sweepFrom + i];
        }
        removeBaseline(takenUv, context.baseline ?? 'none', preSampleCount);
        for (let i = 0; i < samplesPerSweep; i++) cleanUv[i] = sweepUv[i] - takenUv[i];
        const predictedUv2 = averageDoubtUv2 + responseChangeUv2;
        const gain = predictedUv2 / (predictedUv2 + noiseUv2);
        pair.fade(1 - gain);
        pair.add(cleanUv, gain, belongsToA(meta.index));
        averageDoubtUv2 = (1 - gain) * predictedUv2;
        const weight = 1 / noiseUv2;
        weightSum += weight;
        const reason = weight < (0.5 * weightSum) / pair.usedCount() ? 'down-weighted' : 'taken';
        tell(meta.index, weight, reason, Math.sqrt(noiseUv2), rmsOf(takenUv), fade);
      },
      read: pair.read,
      readPair: pair.readPair,
      ownNoiseUv: () => (pair.usedCount() > 0 ? Math.sqrt(Math.max(averageDoubtUv2, responseDoubtUv2())) : NaN),
      usedCount: pair.usedCount,
      effectiveCount: pair.effectiveCount,
    };
  },
  explain({ reason, measureUv, limitUv }) {
    if (reason === 'flagged') return FLAGGED_SENTENCE;
    const taken = `${limitUv.toFixed(2)} µV rms of drift and mains were taken off it`;
    return `${reason === 'taken' ? 'Counted' : 'Marked down'}: its noise was put at ${measureUv.toFixed(2)} µV rms, and ${taken}.`;
  },
};

function traceOfProduct(one: Matrix, two: Matrix): number {
  let sum = 0;
  for (let s = 0; s < one.rows; s++) for (let r = 0; r < one.columns; r++) sum += one.get(s, r) * two.get(r, s);
  return sum;
}

function rmsOf(values: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i] * values[i];
  return Math.sqrt(sum / values.length);
}
