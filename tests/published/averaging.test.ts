import { describe, expect, it } from 'vitest';
import { blockWeighting } from '../../src/core/averaging/blockWeighting.ts';
import { kalman } from '../../src/core/averaging/kalman.ts';
import { plainMean } from '../../src/core/averaging/plainMean.ts';
import { weightedPair } from '../../src/core/averaging/weightedPair.ts';
import { nextGaussian, stream } from '../../src/core/random/stream.ts';
import { deviation, laneErrors, mean, rms } from './raceRuns.ts';

const POINTS = 240;
const context = {
  samplesPerSweep: POINTS,
  sampleRateHz: 16000,
  preSampleCount: 0,
  analysisFrom: 0,
  analysisTo: POINTS,
  respectFlags: true,
};
const meta = (index: number) => ({ index, timeS: index / 30, polarity: 1 as const, overRange: false });

function whiteSweep(draws: ReturnType<typeof stream>, sd: number): Float64Array {
  return Float64Array.from({ length: POINTS }, () => sd * nextGaussian(draws));
}

describe('A01: the residual noise of a mean of N independent sweeps is 1/√N of one sweep', () => {
  // Source: standard estimation theory, Var(mean) = σ²/N; chapter on coherent averaging, doi 10.1007/978-3-030-33904-3_59
  it('falls with exponent −0.5 in a quiet patient (24 seeds, within 3 standard errors)', () => {
    const stationary = {
      session: { durationS: 80 },
      eeg: { gainLogSd: 0 },
      mains: { fundamentalUv: 0 },
      converter: { sampleRateHz: 8000 },
      filter: { lowPassHz: 1500 },
    };
    const counts = [64, 128, 256, 512, 1024, 2048];
    const slopes = Array.from({ length: 24 }, (_, r) => {
      const errors = laneErrors(stationary, `root/${r}`, [{ strategy: 'plain-mean', parameters: {} }], counts);
      const x = counts.map(Math.log);
      const y = errors.map(([errorUv]) => Math.log(rms(errorUv)));
      const centre = mean(x);
      return (
        x.reduce((sum, value, j) => sum + (value - centre) * y[j], 0) /
        x.reduce((sum, value) => sum + (value - centre) ** 2, 0)
      );
    });
    const standardError = deviation(slopes) / Math.sqrt(slopes.length);
    expect(standardError).toBeLessThan(0.05); // else the test could not tell −0.5 from −0.3
    expect(Math.abs(mean(slopes) + 0.5)).toBeLessThan(3 * standardError);
  });
});

describe('A08, A09: optimal weights gain AM(v)/HM(v) in variance over the plain mean', () => {
  // Source: derived in the published values from A01 and A07 (Gauss–Markov): half the sweeps with v = 1, half with
  // v = 100: AM = 50.5, HM = 1.980198, gain 25.5025.
  const EXPECTED = 50.5 / 1.980198;

  it('exactly, for known variances, by the variance of the weighted sum', () => {
    // Unit impulses make the weights visible: the estimate at sample k is the share of sweep k.
    const N = 40;
    const pair = weightedPair(N);
    for (let k = 0; k < N; k++) {
      pair.add(
        Float64Array.from({ length: N }, (_, i) => (i === k ? 1 : 0)),
        k % 2 === 0 ? 1 : 1 / 100,
        k % 4 < 2,
      );
    }
    const shares = new Float64Array(N);
    pair.read(shares);
    const weighted = shares.reduce((sum, share, k) => sum + share * share * (k % 2 === 0 ? 1 : 100), 0);
    const plain = (N / 2) * (1 + 100) * (1 / N) ** 2;
    expect(plain / weighted).toBeCloseTo(25.5025, 4);
  });

  it('by block weighting with estimated variances, within 4 standard errors', () => {
    // Blocks of 16, alternately quiet and ten times noisier; 60 runs of 320 sweeps.
    const ratios = Array.from({ length: 60 }, (_, r) => {
      const draws = stream('am/hm', 'white', r);
      const plain = plainMean.create(context, {}, () => {});
      const parameters = { blockLength: 16, varianceFloorUv2: 0, independentPoints: POINTS };
      const weighted = blockWeighting.create(context, parameters, () => {});
      for (let k = 0; k < 320; k++) {
        const sweepUv = whiteSweep(draws, Math.floor(k / 16) % 2 === 0 ? 1 : 10);
        plain.add(sweepUv, meta(k));
        weighted.add(sweepUv, meta(k));
      }
      const out = new Float64Array(POINTS);
      plain.read(out);
      const plainPower = rms(out) ** 2;
      weighted.read(out);
      return Math.log(plainPower / rms(out) ** 2);
    });
    const standardError = deviation(ratios) / Math.sqrt(ratios.length);
    expect(standardError).toBeLessThan(0.05);
    expect(Math.abs(mean(ratios) - Math.log(EXPECTED))).toBeLessThan(4 * standardError);
  });
});

describe('A21, A22: Kalman with Q = 0 and known R is the inverse-variance mean', () => {
  // Source: derived in the published values from A07 and A21: 1/P_n = 1/P_0 + Σ 1/R_i.
  const parameters = { processNoiseUv2: 0, noiseMemory: 0.3, noiseFloorUv2: 0.01, knownNoiseUv2: 0 };

  it('for one known R: the plain mean, with P = R/n', () => {
    const draws = stream('kalman', 'known R');
    const known = kalman.create(context, { ...parameters, knownNoiseUv2: 4 }, () => {});
    const plain = plainMean.create(context, {}, () => {});
    for (let k = 0; k < 100; k++) {
      const sweepUv = whiteSweep(draws, 2);
      known.add(sweepUv, meta(k));
      plain.add(sweepUv, meta(k));
    }
    const a = new Float64Array(POINTS);
    const b = new Float64Array(POINTS);
    known.read(a);
    plain.read(b);
    // P₀ = 10⁶ instead of ∞: 1/P_n = 10⁻⁶ + n/R, a relative difference of R/(n·10⁶) = 4·10⁻⁸.
    expect(Math.max(...a.map((value, i) => Math.abs(value - b[i])))).toBeLessThan(1e-12);
    expect(Math.abs(known.ownNoiseUv() ** 2 / (4 / 100) - 1)).toBeLessThan(5e-8);
  });

  it('for a different R at each sweep: Σ x/R ÷ Σ 1/R and P = 1/Σ 1/R, with the R that it states', () => {
    const draws = stream('kalman', 'varying R');
    const shares: number[] = [];
    const averager = kalman.create(context, parameters, ({ weight }) => void shares.push(weight));
    const sumUv = new Float64Array(POINTS);
    for (let k = 0; k < 200; k++) {
      const sweepUv = whiteSweep(draws, k % 3 === 0 ? 12 : 2);
      averager.add(sweepUv, meta(k));
      for (let i = 0; i < POINTS; i++) sumUv[i] += shares[k] * sweepUv[i];
    }
    expect(Math.max(...shares) / Math.min(...shares)).toBeGreaterThan(5); // the R do differ
    const shareSum = shares.reduce((sum, share) => sum + share, 0);
    const out = new Float64Array(POINTS);
    averager.read(out);
    expect(Math.max(...out.map((value, i) => Math.abs(value - sumUv[i] / shareSum)))).toBeLessThan(1e-9);
    expect(Math.abs(averager.ownNoiseUv() ** 2 * shareSum - 1)).toBeLessThan(1e-6);
  });
});

describe('A03, B83, B84: the plus–minus difference of two buffers has the noise of the mean', () => {
  // Source: Schimmel 1967, Science 157:92, doi 10.1126/science.157.3784.92; B83 and B84 are derived there from it.
  it('in size (half-difference) and as the average gap of two replicates, 1.5958 times the noise', () => {
    const halves: number[] = [];
    const gaps: number[] = [];
    for (let r = 0; r < 200; r++) {
      const draws = stream('plus-minus', 'white', r);
      const averager = plainMean.create(context, {}, () => {});
      for (let k = 0; k < 40; k++) averager.add(whiteSweep(draws, 5), meta(k));
      const a = new Float64Array(POINTS);
      const b = new Float64Array(POINTS);
      averager.readPair(a, b);
      halves.push(rms(a.map((value, i) => (value - b[i]) / 2)) ** 2);
      gaps.push(mean(Array.from(a, (value, i) => Math.abs(value - b[i]))));
    }
    const noiseUv = 5 / Math.sqrt(40);
    const near = (values: number[], expected: number) =>
      expect(Math.abs(mean(values) - expected)).toBeLessThan((4 * deviation(values)) / Math.sqrt(values.length));
    near(halves, noiseUv ** 2);
    near(gaps, 1.5958 * noiseUv);
  });
});

describe('A05: weights estimated from the same data with few degrees of freedom underestimate the response', () => {
  // Source: Possibilities and limitations of weighted averaging (published values A05): negative bias, negligible with
  // enough degrees of freedom. Block weighting takes its variance about the block's own mean and is free of it.
  it('does not touch block weighting (gain 1 within 3 standard errors)', () => {
    const response = Float64Array.from({ length: POINTS }, (_, i) => Math.sin((2 * Math.PI * i) / 60));
    const gains = Array.from({ length: 40 }, (_, r) => {
      const draws = stream('self weights', 'white', r);
      const parameters = { blockLength: 8, varianceFloorUv2: 0, independentPoints: POINTS };
      const averager = blockWeighting.create(context, parameters, () => {});
      for (let k = 0; k < 200; k++) {
        averager.add(
          whiteSweep(draws, 3).map((value, i) => value + response[i]),
          meta(k),
        );
      }
      const out = new Float64Array(POINTS);
      averager.read(out);
      return out.reduce((sum, value, i) => sum + value * response[i], 0) / response.reduce((s, v) => s + v * v, 0);
    });
    const standardError = deviation(gains) / Math.sqrt(gains.length);
    expect(standardError).toBeLessThan(0.01);
    expect(Math.abs(mean(gains) - 1)).toBeLessThan(3 * standardError);
  });
});

describe('the spread of residual noise between replicates', () => {
  // Source: Satterthwaite's approximation (Biometrics Bull. 2:110, 1946, from memory): a mean square of correlated
  // Gaussian numbers behaves like ν = (tr C)²/tr(C²) independent ones, so its root has a relative spread of 1/√(2ν).
  it('is what the covariance of the noise within the window says (60 seeds, within 4 standard errors)', () => {
    const document = {
      session: { durationS: 20 },
      eeg: { gainLogSd: 0 },
      mains: { fundamentalUv: 0 },
      converter: { sampleRateHz: 8000 },
    };
    const counts = [500];
    const errors = Array.from(
      { length: 60 },
      (_, r) => laneErrors(document, `spread/${r}`, [{ strategy: 'plain-mean', parameters: {} }], counts)[0][0],
    );
    const length = errors[0].length;
    // Stationary noise: the covariance depends on the lag only, which 60 runs estimate well.
    const covariance = Array.from({ length }, (_, lag) =>
      mean(errors.flatMap((error) => Array.from({ length: length - lag }, (_, i) => error[i] * error[i + lag]))),
    );
    let squares = 0;
    for (let i = 0; i < length; i++) for (let j = 0; j < length; j++) squares += covariance[Math.abs(i - j)] ** 2;
    const freedom = (length * covariance[0]) ** 2 / squares;
    const noise = errors.map(rms);
    const spread = deviation(noise) / mean(noise);
    const expected = 1 / Math.sqrt(2 * freedom);
    // The standard error of a deviation from 60 values is 1/√(2·59) = 9 % of it; ν itself is known to some 10 %.
    expect(Math.abs(spread / expected - 1)).toBeLessThan(4 * Math.hypot(0.09, 0.05));
    expect(freedom).toBeGreaterThan(5);
    expect(freedom).toBeLessThan(25);
  });
});
