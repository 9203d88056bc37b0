import { describe, expect, it } from 'vitest';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { startSession } from '../../../src/core/session/session.ts';
import { correlation, standardDeviation } from '../sampleStatistics.ts';
import { sessionDigest } from '../session/digest.ts';
import { meanTruth, peak, QUIET } from './meanTruth.ts';

const document = (response: object, rest: object = {}) => ({
  ...QUIET,
  session: { durationS: 15 },
  stimulus: { levelDbNhl: 85 },
  filter: { highPassHz: 30, lowPassHz: 3000 },
  response: { amplitudeLogSd: 0, latencyJitterMs: 0, ...response },
  ...rest,
});

/** Latencies of waves I and V in each sweep of the noise-free response. */
function latencies(response: object): { wave1: number[]; wave5: number[] } {
  const scenario = resolveScenario(document(response));
  const session = startSession(scenario, '3');
  const { preMs } = scenario.window;
  const perMs = scenario.converter.sampleRateHz / 1000;
  const wave1: number[] = [];
  const wave5: number[] = [];
  for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
    if (sweep.polarity !== 1) continue; // wave I of rarefaction is earlier
    const timesMs = Float64Array.from(sweep.truthUv[0], (_, i) => i / perMs - Math.round(preMs * perMs) / perMs);
    wave1.push(peak(timesMs, sweep.truthUv[0], 1, 1, 2.3).ms);
    wave5.push(peak(timesMs, sweep.truthUv[0], 1, 4.7, 6.5).ms);
  }
  return { wave1, wave5 };
}

describe('jitteredWaves', () => {
  it('moves waves against each other: wave I by its own deviation, hardly with wave V; 4 standard errors', () => {
    const { wave1, wave5 } = latencies({ waveJitterMs: 0.1 });
    expect(Math.abs(standardDeviation(wave1) - 0.1)).toBeLessThan((4 * 0.1) / Math.sqrt(2 * wave1.length) + 0.005);
    expect(Math.abs(correlation(wave1, wave5))).toBeLessThan(4 / Math.sqrt(wave1.length));
  });

  it('leaves the jitter that is common as it was: all waves together', () => {
    const { wave1, wave5 } = latencies({ latencyJitterMs: 0.1 });
    expect(correlation(wave1, wave5)).toBeGreaterThan(0.99);
    const both = latencies({ latencyJitterMs: 0.1, waveJitterMs: 0.1 });
    expect(Math.abs(standardDeviation(both.wave1) - 0.1 * Math.SQRT2)).toBeLessThan(0.025);
    expect(Math.abs(correlation(both.wave1, both.wave5) - 0.5)).toBeLessThan(0.2);
  });

  it.each([
    ['click-abr', {}],
    ['tone-abr', { stimulus: { frequencyHz: 500, levelDbNhl: 80 } }],
  ])('%s: a vanishing jitter gives the response without it', (kind, rest) => {
    const truth = (waveJitterMs: number) =>
      meanTruth(document({ kind, waveJitterMs }, { session: { durationS: 2 }, ...rest })).truthUv[0];
    const [with_, without] = [truth(1e-9), truth(0)];
    for (const [i, uv] of without.entries()) expect(Math.abs(with_[i] - uv)).toBeLessThan(1e-6);
  });

  it('blurs the average: less of wave V is left of a large one', () => {
    const waveV = (waveJitterMs: number) => {
      const { timesMs, truthUv } = meanTruth(document({ waveJitterMs }));
      return peak(timesMs, truthUv[0], 1, 4.7, 6.5).uv;
    };
    expect(waveV(0.4)).toBeLessThan(0.9 * waveV(0));
  });

  it('is the same for any block', () => {
    const scenario = document({ waveJitterMs: 0.1, latencyJitterMs: 0.05 }, { session: { durationS: 2 } });
    expect(sessionDigest(scenario, '1', 37)).toBe(sessionDigest(scenario, '1', 4096));
  });
});
