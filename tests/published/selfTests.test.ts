import { describe, expect, it } from 'vitest';
import { noiseSources } from '../../src/core/noise/index.ts';
import { resolveScenario } from '../../src/core/scenario/resolve.ts';
import { openLane } from '../../src/core/session/lanes.ts';
import { averagingContext, RESPONSE_NOISE, startSession } from '../../src/core/session/session.ts';
import { everything, joined } from '../core/noise/everything.ts';
import { deviation, laneErrors, mean, rms } from './raceRuns.ts';

// What the model must be true to whatever else is in it. MODEL.md says where the other self-tests are.

describe('white noise alone', () => {
  // Var(mean) = σ²/N for independent noise: published values A01.
  it('falls with exponent −0.5 (16 seeds, within 3 standard errors)', () => {
    const white = {
      session: { durationS: 80 },
      response: { kind: 'none' },
      eeg: { slowUv: 0, floorNvPerRtHz: 60, gainLogSd: 0 },
      mains: { fundamentalUv: 0 },
      drift: { walkUvPerRtS: 0 },
      amplifier: { noiseNvPerRtHz: 0 },
      converter: { sampleRateHz: 8000 },
    };
    const counts = [64, 128, 256, 512, 1024, 2048];
    const x = counts.map(Math.log);
    const slopes = Array.from({ length: 16 }, (_, r) => {
      const errors = laneErrors(white, `white/${r}`, [{ strategy: 'plain-mean', parameters: {} }], counts);
      const y = errors.map(([errorUv]) => Math.log(rms(errorUv)));
      const numerator = x.reduce((sum, value, j) => sum + (value - mean(x)) * y[j], 0);
      return numerator / x.reduce((sum, value) => sum + (value - mean(x)) ** 2, 0);
    });
    const standardError = deviation(slopes) / Math.sqrt(slopes.length);
    expect(standardError).toBeLessThan(0.05);
    expect(Math.abs(mean(slopes) + 0.5)).toBeLessThan(3 * standardError);
  });
});

describe('superposition', () => {
  const unheard = [
    // kind, sources that its electrodes do not see: no muscle fires for an eye, and a neck electrode does not see the eyes
    ['ovemp', [RESPONSE_NOISE]],
    ['cvemp', ['brow', 'blink', 'saccade']],
  ] as const;
  it.each(unheard)(
    '%s: the recording is the sum of what each source records alone, within a step of the converter',
    (kind, expected) => {
      const wide = {
        session: { durationS: 8 },
        child: { present: true },
        // Nothing clips, and the knife stays off: it alone drives any stage over its range.
        amplifier: { rangeUv: 100000 },
        diathermy: { sparkUv: 500 },
        converter: { bits: 24, sampleRateHz: 8000 },
        response: { kind },
        filter: { highPassHz: 100 },
      };
      const scenario = resolveScenario(joined(everything, wide));
      const sweepsOf = (onlySource: string | null) => {
        const session = startSession(scenario, '11', 1024, onlySource);
        const sweeps = [];
        for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
          sweeps.push({ recorded: sweep.recordedUv[0].slice(), truth: sweep.truthUv[0].slice() });
        }
        return sweeps;
      };
      const together = sweepsOf(null);
      const sums = together.map(({ truth }) => truth.slice());
      const silent: string[] = [];
      for (const id of [...noiseSources.map((source) => source.id), RESPONSE_NOISE]) {
        const alone = sweepsOf(id);
        if (alone.every(({ recorded }) => recorded.every((value) => value === 0))) silent.push(id);
        for (const [k, { recorded }] of alone.entries())
          for (let i = 0; i < recorded.length; i++) sums[k][i] += recorded[i];
      }
      expect(silent, 'sources that said nothing').toEqual(expected);
      const lsbUv = 100000 / 2 ** 23;
      let worstUv = 0;
      for (const [k, { recorded }] of together.entries()) {
        for (let i = 0; i < recorded.length; i++) worstUv = Math.max(worstUv, Math.abs(recorded[i] - sums[k][i]));
      }
      expect(worstUv).toBeLessThan(lsbUv);
      expect(worstUv).toBeGreaterThan(0); // the converter does round
    },
  );
});

describe('weights that a sweep gives itself', () => {
  // First order in the response: E[x/‖x‖²] for x = s + n turns s by −2·C·s/tr C. Derived here, no table.
  const bands = [
    // low and high corner Hz
    [100, 1500],
    [300, 3000],
  ] as const;
  it.each(bands)('%i–%i Hz: the gain is 1 − 2·sᵀCs/(sᵀs·tr C) within 0.03', (highPassHz, lowPassHz) => {
    const quiet = {
      session: { durationS: 40 },
      eeg: { gainLogSd: 0 },
      mains: { fundamentalUv: 0 },
      converter: { sampleRateHz: 8000 },
      filter: { highPassHz, lowPassHz },
    };
    const gains: number[] = [];
    const covariance: Float64Array[] = [];
    let sweepCount = 0;
    let expected = NaN;
    for (let r = 0; r < 8; r++) {
      // The same noise with and without the response: what is left of the response in the difference.
      const [withIt, without] = [{}, { response: { kind: 'none' } }].map((response) => {
        const scenario = resolveScenario({ ...quiet, ...response });
        const context = averagingContext(scenario);
        const { averager } = openLane({ strategy: 'self-weighting', parameters: {} }, context);
        const session = startSession(scenario, `self/${r}`);
        const truthUv = new Float64Array(context.samplesPerSweep);
        for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
          const { index, timeS, polarity, overRange, recordedUv } = sweep;
          averager.add(recordedUv[0], { index, timeS, polarity, overRange: overRange[0] });
          for (let i = 0; i < truthUv.length; i++) truthUv[i] += sweep.truthUv[0][i] / session.sweepCount;
          if (scenario.response.kind === 'none')
            addProducts(recordedUv[0].subarray(context.analysisFrom, context.analysisTo));
        }
        const estimateUv = new Float64Array(context.samplesPerSweep);
        averager.read(estimateUv);
        const inWindow = (values: Float64Array) => values.slice(context.analysisFrom, context.analysisTo);
        return { estimateUv: inWindow(estimateUv), truthUv: inWindow(truthUv) };
      });
      const s = withIt.truthUv;
      const power = dot(s, s);
      gains.push(
        dot(
          withIt.estimateUv.map((value, i) => value - without.estimateUv[i]),
          s,
        ) / power,
      );
      if (r < 7) continue;
      const trace = covariance.reduce((sum, row, i) => sum + row[i], 0);
      expected = 1 - (2 * s.reduce((sum, value, i) => sum + value * dot(covariance[i], s), 0)) / (power * trace);
    }
    const standardError = deviation(gains) / Math.sqrt(gains.length);
    expect(sweepCount).toBeGreaterThan(5000);
    expect(standardError).toBeLessThan(0.01);
    expect(expected).toBeLessThan(0.95); // there is something to see
    expect(Math.abs(mean(gains) - expected), `${mean(gains)} against ${expected}`).toBeLessThan(0.03);

    function addProducts(noiseUv: Float64Array): void {
      sweepCount++;
      for (let i = 0; i < noiseUv.length; i++) {
        covariance[i] ??= new Float64Array(noiseUv.length);
        for (let j = 0; j < noiseUv.length; j++) covariance[i][j] += noiseUv[i] * noiseUv[j];
      }
    }
  });
});

function dot(a: Float64Array, b: Float64Array): number {
  return a.reduce((sum, value, i) => sum + value * b[i], 0);
}
