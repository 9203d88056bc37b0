import { describe, expect, it } from 'vitest';
import { fillGaussian, stream } from '../../../src/core/random/stream.ts';
import { NO_NOISE, noiseShape } from '../../../src/core/reading/noiseShape.ts';
import { peakErrors } from '../../../src/core/reading/peakErrors.ts';
import type { PeakRules } from '../../../src/core/reading/peakRules.ts';
import { readPeaks } from '../../../src/core/reading/readPeaks.ts';
import { mean, rms, standardDeviation } from '../sampleStatistics.ts';

const axis = { sampleRateHz: 10000, preSampleCount: 20 };
const LENGTH = 200; // −2 … 18 ms

const bell = (t: number, at: number, width: number) => Math.exp(-0.5 * ((t - at) / width) ** 2);
const trace = (curve: (t: number) => number) => Float64Array.from({ length: LENGTH }, (_, i) => curve((i - 20) / 10));

const rules: PeakRules = {
  halfMs: 0.2,
  peaks: [
    { name: 'late', sign: 1, fromMs: 4, toMs: 10, troughMs: 4 },
    { name: 'early', sign: 1, fromMs: -4, toMs: -2, relativeTo: 'late', troughMs: 2 },
    { name: 'dip', sign: -1, fromMs: 8, toMs: 14, troughMs: 4 },
  ],
};

describe('readPeaks', () => {
  it('finds peaks between samples, in order of time, with size from zero and to the trough', () => {
    const read = readPeaks(
      trace((t) => bell(t, 6.53, 0.8) + 0.4 * bell(t, 3.47, 0.4) - 0.5 * bell(t, 11.04, 0.8)),
      axis,
      NO_NOISE,
      rules,
    );
    expect(read.map(({ name }) => name)).toEqual(['early', 'late', 'dip']);
    const [early, late, dip] = read;
    expect(early.latencyMs).toBeCloseTo(3.47, 2);
    expect(late.latencyMs).toBeCloseTo(6.53, 2);
    expect(dip.latencyMs).toBeCloseTo(11.04, 2);
    expect(late.amplitudeUv).toBeCloseTo(1, 2);
    expect(dip.amplitudeUv).toBeCloseTo(-0.5, 2);
    expect(late.troughMs).toBe(10.5); // the trough at 11.04 is beyond its reach of 4 ms
    expect(late.toTroughUv).toBeCloseTo(1 + 0.5 * bell(10.5, 11.04, 0.8), 2);
    expect(dip.toTroughUv).toBeCloseTo(0.5, 2); // back up to zero
    expect([late.latencySdMs, late.amplitudeSdUv, late.toTroughSdUv]).toEqual([0, 0, 0]);
  });

  it('takes the local maximum with the deepest fall, not the end of a slope', () => {
    const read = readPeaks(
      trace((t) => 0.5 * t + bell(t, 6, 0.5)),
      axis,
      NO_NOISE,
      rules,
    );
    expect(read.find(({ name }) => name === 'late')?.latencyMs).toBeCloseTo(6.13, 1);
  });

  it('leaves out what is not there, and what hangs on it', () => {
    expect(
      readPeaks(
        trace(() => 0),
        axis,
        NO_NOISE,
        rules,
      ),
    ).toEqual([]); // prettier-ignore
    expect(
      readPeaks(
        trace((t) => t),
        axis,
        NO_NOISE,
        rules,
      ),
    ).toEqual([]); // prettier-ignore
    expect(
      readPeaks(
        trace(() => NaN),
        axis,
        NO_NOISE,
        rules,
      ),
    ).toEqual([]); // prettier-ignore
    const early = readPeaks(
      trace((t) => bell(t, 2, 0.4)),
      axis,
      NO_NOISE,
      rules,
    ); // prettier-ignore
    expect(early.map(({ name }) => name)).not.toContain('early');
  });

  // A deviation from 300 values is known to 4 %, that from 40 examples to 11 % each: mean over 300 readings is what counts.
  it('says how uncertain it is: 300 averages whose noise is alike over 5 samples', () => {
    const draws = stream('7', 'test/peaks');
    const white = new Float64Array(LENGTH + 4);
    const noise = () => {
      fillGaussian(draws, white, LENGTH + 4);
      return Float64Array.from({ length: LENGTH }, (_, i) => {
        return 0.02 * (white[i] + 2 * white[i + 1] + 3 * white[i + 2] + 2 * white[i + 3] + white[i + 4]);
      });
    };
    const response = trace((t) => bell(t, 6.53, 0.8) + 0.8 * bell(t, 3.47, 0.5));
    const truth = readPeaks(response, axis, NO_NOISE, rules);
    // The half-difference is drawn independently of the noise of the average, as it is in a recording.
    const runs = Array.from({ length: 300 }, () => {
      const shape = noiseShape(noise(), 10, 190, axis.sampleRateHz);
      const read = readPeaks(
        noise().map((value, i) => value + response[i]),
        axis,
        shape,
        rules,
      );
      return { read, errors: peakErrors(read, truth) };
    });
    for (const name of ['early', 'late']) {
      const errors = runs.flatMap((run) => run.errors.filter((error) => error.name === name));
      const peaks = runs.flatMap((run) => run.read.filter((peak) => peak.name === name));
      expect(errors).toHaveLength(300);
      expect(peaks.every(({ clear }) => clear)).toBe(true);
      const ratio = (values: number[], claimed: number[]) => standardDeviation(values) / rms(claimed);
      const inside = errors.filter(({ latencyZ }) => Math.abs(latencyZ) < 1.96).length / 300;
      expect(inside).toBeGreaterThan(0.95 - 4 * Math.sqrt((0.05 * 0.95) / 300) - 0.03); // σ from 40 examples: tails
      expect(
        ratio(
          errors.map((e) => e.latencyErrorMs),
          peaks.map((p) => p.latencySdMs),
        ),
      ).toBeGreaterThan(0.75); // prettier-ignore
      expect(
        ratio(
          errors.map((e) => e.latencyErrorMs),
          peaks.map((p) => p.latencySdMs),
        ),
      ).toBeLessThan(1.25); // prettier-ignore
      const size = ratio(
        errors.map((e) => e.amplitudeErrorUv),
        peaks.map((p) => p.amplitudeSdUv),
      ); // prettier-ignore
      expect(Math.abs(size - 1)).toBeLessThan(4 / Math.sqrt(600) + 0.1); // noise picks out maxima: up to a tenth
      const z = errors.map(({ latencyZ }) => latencyZ);
      expect(Math.abs(mean(z))).toBeLessThan((4 * standardDeviation(z)) / Math.sqrt(300));
    }
  });

  it('does not call a bump of pure noise clear: 300 traces of noise', () => {
    const draws = stream('7', 'test/bumps');
    const clear = Array.from({ length: 300 }, () => {
      const [average, half] = [0, 1].map(() => {
        const white = new Float64Array(LENGTH);
        fillGaussian(draws, white, LENGTH);
        for (let i = 1; i < LENGTH; i++) white[i] += 0.8 * white[i - 1];
        return white;
      });
      const read = readPeaks(average, axis, noiseShape(half, 0, LENGTH, axis.sampleRateHz), rules);
      return read.find(({ name }) => name === 'early')?.clear ?? false;
    }).filter(Boolean).length;
    expect(clear / 300).toBeLessThan(0.2);
  });
});

describe('noiseShape', () => {
  it('knows white noise: value, difference and examples by formula, 4 standard errors', () => {
    const draws = stream('7', 'test/shape');
    const white = new Float64Array(20000);
    fillGaussian(draws, white, 20000);
    const shape = noiseShape(white, 0, 20000, 1000);
    const tolerance = 8 / Math.sqrt(20000); // neighbours share samples: twice the usual
    expect(Math.abs(shape.sampleUv - 1)).toBeLessThan(tolerance);
    expect(Math.abs(rms(shape.examplesUv[1]) - 1)).toBeLessThan(tolerance);
    expect(shape.examplesUv).toHaveLength(40);
    expect(Math.abs(shape.valueUv(2) / Math.sqrt(17 / 35) - 1)).toBeLessThan(tolerance); // five samples
    expect(Math.abs(shape.differenceUv(1, 50) / Math.SQRT2 - 1)).toBeLessThan(tolerance);
    expect(Math.abs(shape.differenceUv(1, 19000) / Math.SQRT2 - 1)).toBeLessThan(tolerance); // too far apart to see
  });

  it('is scaled to a claim', () => {
    const shape = noiseShape(Float64Array.of(1, -1, 1, -1, 1), 0, 4, 1000, 0.1);
    expect(shape.sampleUv).toBeCloseTo(0.1, 12);
    expect(noiseShape(new Float64Array(5), 0, 5, 1000, 0.1).sampleUv).toBe(0); // nothing to scale
    expect(() => noiseShape(new Float64Array(5), 3, 3, 1000)).toThrow(/^noiseShape: window/);
  });
});

describe('peakErrors', () => {
  it('compares by name and leaves out what only one of them has', () => {
    const response = trace((t) => bell(t, 6.5, 0.8) + 0.4 * bell(t, 3.5, 0.4));
    const truth = readPeaks(response, axis, NO_NOISE, rules);
    const double = readPeaks(
      response.map((value) => 2 * value),
      axis,
      NO_NOISE,
      rules,
    ); // prettier-ignore
    const errors = peakErrors(double, truth);
    expect(errors.map(({ name }) => name)).toEqual(truth.map(({ name }) => name));
    for (const error of errors) {
      expect(error.latencyErrorMs).toBe(0);
      expect(error.toTroughGain).toBeCloseTo(2, 10);
    }
    expect(peakErrors(double, [])).toEqual([]);
  });
});
