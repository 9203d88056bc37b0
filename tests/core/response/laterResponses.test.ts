import { describe, expect, it } from 'vitest';
import { corticalRecovery, corticalWaves } from '../../../src/core/response/corticalResponse.ts';
import { middleLatencyWaves } from '../../../src/core/response/middleLatency.ts';
import { steadyState, steadyStateUv } from '../../../src/core/response/steadyState.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { heardBeatHz } from '../../../src/core/stimulus/heardBeat.ts';
import { meanTruth, peak, QUIET } from './meanTruth.ts';

describe('middleLatencyWaves', () => {
  it('Na, Pa, Nb, Pb at 18, 30, 40, 52 ms, alternately down and up, at most 1 µV', () => {
    const waves = middleLatencyWaves(90, 'ipsilateral');
    expect(waves.map(({ name, latencyMs }) => [name, latencyMs])).toEqual([
      ['Na', 18],
      ['Pa', 30],
      ['Nb', 40],
      ['Pb', 52],
    ]);
    for (const [k, { amplitudeUv }] of waves.entries()) {
      expect(Math.sign(amplitudeUv)).toBe(k % 2 === 0 ? -1 : 1);
      expect(Math.abs(amplitudeUv)).toBeLessThanOrEqual(1);
    }
    expect(middleLatencyWaves(2, 'ipsilateral')).toEqual([]);
  });

  it('at 40/s the sum repeats every 25 ms and is the pattern wrapped around', () => {
    const fast = meanTruth({
      ...QUIET,
      response: { kind: 'middle-latency', amplitudeLogSd: 0, latencyJitterMs: 0 },
      session: { durationS: 10 },
      stimulus: { ratePerS: 40 },
      filter: { lowPassHz: 3000, highPassHz: 0.1 },
      window: { preMs: 0, postMs: 25, analysisToMs: 25 },
      averaging: { baseline: 'none' },
    });
    const peakToPeak =
      peak(fast.timesMs, fast.truthUv[0], 1, 0, 25).uv - peak(fast.timesMs, fast.truthUv[0], -1, 0, 25).uv;
    const waves = middleLatencyWaves(70, 'ipsilateral');
    const wrapped = Array.from({ length: 250 }, (_, i) => {
      let sum = 0;
      for (let k = 0; k < 4; k++) {
        for (const { latencyMs, widthMs, amplitudeUv } of waves) {
          sum += amplitudeUv * Math.exp(-((i / 10 + 25 * k - latencyMs) ** 2) / (2 * widthMs ** 2));
        }
      }
      return sum;
    });
    expect(peakToPeak).toBeCloseTo(Math.max(...wrapped) - Math.min(...wrapped), 1);
  });
});

describe('the cortical response', () => {
  it('P1, N1, P2 come later and smaller for fainter sounds', () => {
    const [loud, faint] = [corticalWaves(80, 'ipsilateral'), corticalWaves(15, 'ipsilateral')];
    for (const [k, wave] of loud.entries()) {
      expect(faint[k].latencyMs).toBeGreaterThan(wave.latencyMs);
      expect(Math.abs(faint[k].amplitudeUv)).toBeLessThan(Math.abs(wave.amplitudeUv));
    }
  });

  const present = (document: object, indices: number[]) => {
    const scenario = resolveScenario({ response: { kind: 'cortical' }, ...document });
    const size = corticalRecovery(scenario);
    const { ratePerS } = scenario.stimulus;
    return indices.map((index) => size({ index, sample: Math.round((index * 2000) / ratePerS), polarity: 1 }));
  };
  it('recovers as 1 − e^(−interval/2.5 s); the first is whole', () => {
    const sizes = present({ stimulus: { ratePerS: 0.5 }, cortical: { habituation: 0 } }, [0, 1, 2]);
    expect(sizes[0]).toBe(1);
    for (const size of sizes.slice(1)) expect(size).toBeCloseTo(1 - Math.exp(-0.8), 9);
  });

  it('the interval is the real one: an omitted stimulus is a longer rest', () => {
    const [, , late] = present({ stimulus: { ratePerS: 0.5 }, cortical: { habituation: 0 } }, [0, 1, 4]);
    expect(late).toBeCloseTo(1 - Math.exp(-6 / 2.5), 9);
  });

  it('habituates by 30 % in the end', () => {
    const sizes = present({ stimulus: { ratePerS: 1 }, cortical: { recoveryS: 0.1 } }, [0, 60, 6000]);
    expect(sizes[1]).toBeCloseTo(1 - 0.3 * (1 - Math.exp(-1)), 4);
    expect(sizes[2]).toBeCloseTo(0.7, 4);
  });
});

describe('the steady-state response', () => {
  const document = { ...QUIET, response: { kind: 'steady-state', amplitudeLogSd: 0 }, session: { durationS: 20 } };

  it('moves the beat to whole cycles of the sweep interval', () => {
    const beat = (modulationHz: number, ratePerS: number) =>
      heardBeatHz(
        resolveScenario({
          ...document,
          stimulus: { modulationHz, ratePerS },
          window: { postMs: 500, analysisToMs: 400 },
        }),
      );
    expect(beat(40, 1)).toBe(40);
    expect(beat(40, 0.94)).toBeCloseTo(43 * 0.94, 12);
    expect(beat(40.4, 1)).toBe(40);
  });

  const sizes = [
    [40, 60, 0.3 * (1 - Math.exp(-1.5)), 'slow'],
    [30, 60, 0.3 * (1 - Math.exp(-1.5)), 'slower: no larger'],
    [90, 60, 0.05 * (1 - Math.exp(-1.5)), 'fast'],
    [40, 2, 0, 'not heard'],
  ] as const;
  it.each(sizes)('%d Hz at %d dB nHL: %d µV', (beatHz, level, expected, why) => {
    expect(steadyStateUv(beatHz, level), why).toBeCloseTo(expected, 9);
  });

  it('is a beat with two harmonics that adds up over sweeps: by projection', () => {
    const stimulus = { modulationHz: 40, ratePerS: 1 };
    const { timesMs, truthUv } = meanTruth({
      ...document,
      stimulus,
      filter: { highPassHz: 0.1, lowPassHz: 900 },
      amplifier: { noiseNvPerRtHz: 0, couplingHz: 0.01 },
      window: { preMs: 0, postMs: 1000, analysisToMs: 1000 },
    });
    const amplitude = (hz: number) => {
      let inPhase = 0;
      let quadrature = 0;
      for (const [i, ms] of timesMs.entries()) {
        inPhase += truthUv[0][i] * Math.sin((2 * Math.PI * hz * ms) / 1000);
        quadrature += truthUv[0][i] * Math.cos((2 * Math.PI * hz * ms) / 1000);
      }
      return (2 * Math.hypot(inPhase, quadrature)) / timesMs.length;
    };
    const expected = 0.3 * (1 - Math.exp(-1.5));
    expect(amplitude(40)).toBeCloseTo(expected, 3);
    expect(amplitude(80)).toBeCloseTo(0.25 * expected, 3);
    expect(amplitude(120)).toBeCloseTo(0.1 * expected, 3);
    expect(amplitude(41)).toBeLessThan(0.01);
  });

  it('begins with the first stimulus, not before', () => {
    const playing = steadyState.create(resolveScenario(document), '1');
    const channels = [new Float64Array(2000), new Float64Array(2000)];
    playing.addUv(channels, 0, 2000);
    expect(channels[0].subarray(0, 1000).every((value) => value === 0)).toBe(true);
    expect(channels[0].subarray(1000).some((value) => value !== 0)).toBe(true);
  });
});
