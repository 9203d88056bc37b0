// Longer than usual: every step works on the same state and covariance.
import { inverse, Matrix, solve } from 'ml-matrix';
import { type Baseline, removeBaseline } from './baseline.ts';
import { nuisanceCurves } from './nuisanceCurves.ts';
import { splineBasis } from './splineBasis.ts';

/** What the filter follows, and where it looks. */
export interface StateSpaceSetting {
  samplesPerSweep: number;
  sampleRateHz: number;
  preSampleCount: number;
  analysisFrom: number;
  analysisTo: number;
  baseline: Baseline;
  lineHz: number;
  harmonicCount: number;
  basisSize: number;
  responseChangeUv2: number;
  mainsChangeUv2: number;
  driftChangeUv2: number;
}

/** State of response, drift and mains, with its covariance P, and how wrong an average becomes that is cleaned by it. */
export interface StateSpaceFilter {
  /** Lets the time to the next sweep pass; `timeS` is when that is complete. */
  predict(timeS: number): void;
  /** Looks at samples, of which number `firstSample` of the recording is the first and a sweep the end. Returns mean (x − H·z)². */
  look(samplesUv: Float64Array, firstSample: number): number;
  /** Sets the first uncertainties, in proportion to the power of the first sweep, µV². */
  begin(powerUv2: number): void;
  /** Mean over the samples of H·P·H': how much of what `look` returned may be the state's own doubt. */
  doubtUv2(): number;
  /** Follows the spectrum of the noise: how much of it falls on the curves of the response, by what `look` returned. */
  followColour(powerUv2: number): void;
  /** Moves the state by what was looked at, R = noise of a sample. */
  update(noiseUv2: number): void;
  /** Writes what the state takes for drift and mains in the sweep, baseline off, µV. */
  readNuisance(outUv: Float64Array): void;
  /** Follows what errors of drift and mains do to an average that has taken in the cleaned sweep with this gain. */
  followAverage(gain: number): void;
  /** Error variance of that average beyond the noise of its sweeps, mean over the window, µV²; may be below 0. */
  extraUv2(): number;
  /** Mean over the window of B·P·B': the filter's own doubt about the response, µV². */
  responseDoubtUv2(): number;
}

// First uncertainties in units of the power of the first sweep, our choice: so much that nothing is assumed, and in
// proportion to the recording, so that its unit does not matter.
const FIRST_RESPONSE = 1e2;
const FIRST_NUISANCE = 1e4;
const LARGEST_FIRST_UV2 = 1e8; // µV², our choice: beyond it the digits of a double would not do
const COLOUR_MEMORY = 0.99; // per sweep, our choice: the spectrum of the noise changes slowly
const POINT_COUNT = 16; // points of the window at which the average's error is followed, our choice

/**
 * The matrices of `stateSpace`.
 *
 *     state z = [c (curves of the response), d, d' (drift and its slope), (a, b) of each harmonic],  error e = ẑ − z
 *     P = (P⁻¹ + H'H/R)⁻¹,   z += P·H'(x − H·z)/R
 *
 * A cleaned sweep errs by n − N·e, with n its noise and N the curves of drift and mains. e holds a part of n, and of the
 * errors of sweeps before, so what the average a errs by is followed with it, exactly for noise as the filter assumes it:
 *
 *     C = E[e·a'] ← (1 − g)·(I − K·H)·F·C + g·P·B',   E[(n − N·e)²] = R − N·P·N' − 2·B·P·N'   (B: curves of the response)
 *     E[a²] ← (1 − g)²·E[a²] − 2g(1 − g)·N·(I − K·H)·F·C + g²·E[(n − N·e)²];   extra = E[a²] less the terms in R alone
 *
 * Noise is not white: R is scaled by how much of it falls on the curves of the response. Matrices by ml-matrix, whose LU
 * decomposition uses + − × ÷ only.
 *
 * @throws {RangeError} if the sweep does not go on after the stimulus
 */
export function stateSpaceFilter(setting: StateSpaceSetting): StateSpaceFilter {
  const { samplesPerSweep, sampleRateHz, preSampleCount, analysisFrom, analysisTo, baseline } = setting;
  const { lineHz, harmonicCount, basisSize, responseChangeUv2, mainsChangeUv2, driftChangeUv2 } = setting;
  const postCount = samplesPerSweep - preSampleCount;
  if (!(postCount >= 1))
    throw new RangeError(`stateSpace: the sweep must go on after the stimulus, got ${postCount} samples`);
  const basis = splineBasis(basisSize, postCount);
  const nuisance = nuisanceCurves(lineHz, harmonicCount, sampleRateHz);
  const nuisanceCount = nuisance.count;
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
  const gradient = new Float64Array(stateCount);
  const crossed = new Float64Array(basisSize);
  let curves: readonly Float64Array[] = []; // of drift and mains, over the samples looked at
  let lastTimeS = NaN;
  let colour = 1;
  let colourCount = 0;
  let gram = Matrix.zeros(stateCount, stateCount); // H'H of the samples looked at
  let sweepFrom = 0; // where the sweep begins among them
  let heardCount = 0;
  let cross = Matrix.zeros(stateCount, POINT_COUNT); // C
  let extraUv2 = 0;
  const points = Array.from({ length: POINT_COUNT }, (_, j) =>
    Math.floor(analysisFrom + ((j + 0.5) * (analysisTo - analysisFrom)) / POINT_COUNT),
  );
  const curveUv = new Float64Array(samplesPerSweep);
  const nuisanceAtPoints = new Float64Array(POINT_COUNT * nuisanceCount);
  const onCurve = new Float64Array(stateCount);

  /** Sets the first uncertainties. */
  function begin(powerUv2: number): void {
    const unitUv2 = Math.min(powerUv2, LARGEST_FIRST_UV2 / FIRST_NUISANCE);
    covariance = Matrix.zeros(stateCount, stateCount);
    cross = Matrix.zeros(stateCount, POINT_COUNT);
    extraUv2 = 0;
    for (let s = 0; s < stateCount; s++) {
      covariance.set(s, s, unitUv2 * (s < basisSize ? FIRST_RESPONSE : FIRST_NUISANCE));
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
    for (let j = 0; j < POINT_COUNT; j++) {
      cross.set(drift, j, cross.get(drift, j) + passedS * cross.get(slope, j));
    }
    for (let s = 0; s < stateCount; s++) {
      const change = s < basisSize ? responseChangeUv2 : s < basisSize + 2 ? driftChangeUv2 : mainsChangeUv2;
      covariance.set(s, s, covariance.get(s, s) + change);
    }
  }

  /** H'H over the samples heard: curves of the response on each other are known, the rest is summed. */
  function gramMatrix(count: number, offset: number): Matrix {
    const sums = gramOfBasis.clone();
    for (let q = 0; q < nuisanceCount; q++) {
      const curve = curves[q];
      for (let p = 0; p <= q; p++) {
        const other = curves[p];
        let sum = 0;
        for (let i = 0; i < count; i++) sum += curve[i] * other[i];
        sums.set(basisSize + q, basisSize + p, sum);
        sums.set(basisSize + p, basisSize + q, sum);
      }
      crossed.fill(0);
      for (let i = 0; i < postCount; i++) {
        const first = basis.first(i);
        const value = curve[offset + i];
        for (let j = 0; j < 4; j++) crossed[first + j] += basis.value(i, j) * value;
      }
      for (let s = 0; s < basisSize; s++) {
        sums.set(s, basisSize + q, crossed[s]);
        sums.set(basisSize + q, s, crossed[s]);
      }
    }
    return sums;
  }

  /** Writes H'(x − H·z) to `gradient`. Returns the mean square of x − H·z. */
  function innovation(samplesUv: Float64Array, offset: number): number {
    const count = samplesUv.length;
    gradient.fill(0);
    let squares = 0;
    for (let i = 0; i < count; i++) {
      let rest = samplesUv[i];
      for (let q = 0; q < nuisanceCount; q++) rest -= state[basisSize + q] * curves[q][i];
      const post = i - offset;
      if (post >= 0) {
        const first = basis.first(post);
        for (let j = 0; j < 4; j++) rest -= state[first + j] * basis.value(post, j);
        for (let j = 0; j < 4; j++) gradient[first + j] += basis.value(post, j) * rest;
      }
      for (let q = 0; q < nuisanceCount; q++) gradient[basisSize + q] += curves[q][i] * rest;
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

  function update(noiseUv2: number): void {
    const scaledUv2 = noiseUv2 * Math.max(1, colour);
    // (P⁻¹ + M/R)⁻¹ = (I + P·M/R)⁻¹·P: P itself need not be inverted.
    const inner = covariance.mmul(gram).div(scaledUv2);
    for (let s = 0; s < stateCount; s++) inner.set(s, s, inner.get(s, s) + 1);
    // C is moved by the same (I − K·H).
    const both = Matrix.zeros(stateCount, stateCount + POINT_COUNT);
    both.setSubMatrix(covariance, 0, 0).setSubMatrix(cross, 0, stateCount);
    const moved = solve(inner, both);
    covariance = moved.subMatrix(0, stateCount - 1, 0, stateCount - 1);
    cross = moved.subMatrix(0, stateCount - 1, stateCount, stateCount + POINT_COUNT - 1);
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

  function readNuisance(outUv: Float64Array): void {
    outUv.fill(0);
    for (let q = 0; q < nuisanceCount; q++) {
      const size = state[basisSize + q];
      for (let i = 0; i < samplesPerSweep; i++) outUv[i] += size * curves[q][sweepFrom + i];
    }
    removeBaseline(outUv, baseline, preSampleCount);
  }

  function followAverage(gain: number): void {
    for (let q = 0; q < nuisanceCount; q++) {
      curveUv.set(curves[q].subarray(sweepFrom, heardCount));
      removeBaseline(curveUv, baseline, preSampleCount);
      for (let j = 0; j < POINT_COUNT; j++) nuisanceAtPoints[j * nuisanceCount + q] = curveUv[points[j]];
    }
    let common = 0; // −N·(I − K·H)·F·C
    let fresh = 0; // −N·P·N' − 2·B·P·N'
    for (let j = 0; j < POINT_COUNT; j++) {
      onCurve.fill(0); // P·B'
      const post = points[j] - preSampleCount;
      if (post >= 0) {
        const first = basis.first(post);
        for (let k = 0; k < 4; k++) {
          const value = basis.value(post, k);
          for (let s = 0; s < stateCount; s++) onCurve[s] += value * covariance.get(first + k, s);
        }
      }
      for (let q = 0; q < nuisanceCount; q++) {
        const value = nuisanceAtPoints[j * nuisanceCount + q];
        let along = 0;
        for (let r = 0; r < nuisanceCount; r++) {
          along += covariance.get(basisSize + q, basisSize + r) * nuisanceAtPoints[j * nuisanceCount + r];
        }
        common -= value * cross.get(basisSize + q, j);
        fresh -= value * (along + 2 * onCurve[basisSize + q]);
      }
      for (let s = 0; s < stateCount; s++) cross.set(s, j, (1 - gain) * cross.get(s, j) + gain * onCurve[s]);
    }
    const kept = 1 - gain;
    extraUv2 = kept * kept * extraUv2 + (2 * gain * kept * common + gain * gain * fresh) / POINT_COUNT;
  }

  return {
    predict,
    look(samplesUv, firstSample) {
      heardCount = samplesUv.length;
      sweepFrom = heardCount - samplesPerSweep;
      const stimulusAt = sweepFrom + preSampleCount;
      curves = nuisance.over(firstSample, heardCount, stimulusAt);
      gram = gramMatrix(heardCount, stimulusAt);
      return innovation(samplesUv, stimulusAt);
    },
    begin,
    doubtUv2: () => traceOfProduct(gram, covariance) / heardCount,
    followColour,
    update,
    readNuisance,
    followAverage,
    extraUv2: () => extraUv2,
    responseDoubtUv2,
  };
}

function traceOfProduct(one: Matrix, two: Matrix): number {
  let sum = 0;
  for (let s = 0; s < one.rows; s++) for (let r = 0; r < one.columns; r++) sum += one.get(s, r) * two.get(r, s);
  return sum;
}
