import { describe, expect, it } from 'vitest';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { laneDetection } from '../../../src/core/session/laneDetection.ts';
import { laneOf } from '../../../src/core/session/lanes.ts';

function detect(
  document: Record<string, object>,
  seed = '1',
  strategies = ['plain-mean', 'block-weighting', 'kalman'],
) {
  const scenario = resolveScenario({
    session: { durationS: 20 },
    stimulus: { ratePerS: 31 },
    mains: { fundamentalUv: 0 },
    converter: { sampleRateHz: 8000 },
    ...document,
  });
  const steps = laneDetection(
    scenario,
    seed,
    strategies.map((id) => laneOf(scenario, id)),
  );
  let step = steps.next();
  for (; !step.done; step = steps.next()) expect(step.value).toBeLessThan(1);
  return step.value;
}

describe('laneDetection', () => {
  it('finds a large response in every lane by every test', () => {
    for (const lane of detect({ response: { amplitudeScale: 3 } })) {
      expect(lane.fmp).toBeGreaterThan(3);
      expect(lane.splitCorrelation).toBeGreaterThan(0.7);
      for (const p of [lane.fmpP, lane.splitP, lane.hotellingP]) expect(p).toBeLessThan(0.01);
    }
  });

  it('is right about chance in lanes that weigh, with bursts: 32 silent patients, 4 standard errors', () => {
    const silent = {
      response: { kind: 'none' },
      muscle: { burstsPerS: 0.3, burstUv: 15 },
      amplifier: { rangeUv: 1000 },
    };
    const all = Array.from({ length: 32 }, (_, r) =>
      detect(silent, `silent/${r}`, ['block-weighting', 'kalman']),
    ).flat();
    for (const test of ['fmpP', 'splitP', 'hotellingP'] as const) {
      const alarms = all.filter((lane) => lane[test] <= 0.05).length;
      // Two lanes of one patient go together: as if there were 32.
      expect(alarms / all.length, test).toBeLessThan(0.05 + 4 * Math.sqrt((0.05 * 0.95) / 32));
      const below = all.filter((lane) => lane[test] <= 0.5).length;
      expect(Math.abs(below / all.length - 0.5), test).toBeLessThan(4 * Math.sqrt(0.25 / 32));
    }
  });

  it('takes a hum that locks for a response: no test of sweeps can know better', () => {
    const [plain] = detect({
      response: { kind: 'none' },
      stimulus: { ratePerS: 25 },
      mains: { fundamentalUv: 4, wanderHz: 0 },
    });
    expect(plain.fmpP).toBeLessThan(0.01);
  });

  it('cannot tell from a few sweeps, and is reproducible', () => {
    const [few] = detect({ session: { durationS: 1 } }, '1', ['plain-mean']);
    expect(few).toMatchObject({ fmp: NaN, fmpP: NaN, splitP: NaN, hotellingP: NaN });
    expect(detect({}, '3', ['plain-mean'])).toEqual(detect({}, '3', ['plain-mean']));
  });
});
