import { describe, expect, it } from 'vitest';
import { noiseSources } from '../../src/core/noise/index.ts';
import { resolveScenario } from '../../src/core/scenario/resolve.ts';
import { RESPONSE_NOISE, startSession } from '../../src/core/session/session.ts';
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
  it('of all sources there are: the recording is the sum of what each records alone, within a step of the converter', () => {
    const wide = {
      session: { durationS: 8 },
      child: { present: true },
      // Nothing clips, and the knife stays off: it alone drives any stage over its range.
      amplifier: { rangeUv: 100000 },
      diathermy: { sparkUv: 500 },
      converter: { bits: 24, sampleRateHz: 8000 },
      response: { kind: 'cvemp' },
      montage: { site: 'mastoid' }, // a neck electrode does not see the eyes
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
    expect(silent, 'sources that said nothing').toEqual([]);
    const lsbUv = 100000 / 2 ** 23;
    let worstUv = 0;
    for (const [k, { recorded }] of together.entries()) {
      for (let i = 0; i < recorded.length; i++) worstUv = Math.max(worstUv, Math.abs(recorded[i] - sums[k][i]));
    }
    expect(worstUv).toBeLessThan(lsbUv);
    expect(worstUv).toBeGreaterThan(0); // the converter does round
  });
});
