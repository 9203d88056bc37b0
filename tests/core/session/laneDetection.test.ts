import { describe, expect, it } from 'vitest';
import { outcomeOf } from '../../../src/core/averaging/contractPatient.ts';
import { finalShares } from '../../../src/core/averaging/finalShares.ts';
import { averagingStrategies } from '../../../src/core/averaging/index.ts';
import { evenPoints, fRatioOfGroups } from '../../../src/core/quality/fsp.ts';
import { groupedSweeps } from '../../../src/core/quality/groupedSweeps.ts';
import { signFlipTest } from '../../../src/core/quality/nullTest.ts';
import { fillGaussian, stream } from '../../../src/core/random/stream.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { laneDetection } from '../../../src/core/session/laneDetection.ts';
import { laneOf } from '../../../src/core/session/lanes.ts';

function detect(
  document: Record<string, object>,
  seed = '1',
  strategies = ['plain-mean', 'block-weighting', 'forgetting-average'],
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
      expect(lane.turned).toBe('groups');
      for (const p of [lane.fspP, lane.fmpP, lane.splitP, lane.fallP, lane.hotellingP]) expect(p).toBeLessThan(0.02);
    }
  });

  it('is right about chance in lanes that weigh, with bursts: 32 silent patients, 4 standard errors', () => {
    const silent = {
      response: { kind: 'none' },
      muscle: { burstsPerS: 0.3, burstUv: 15 },
      amplifier: { rangeUv: 1000 },
    };
    const all = Array.from({ length: 32 }, (_, r) =>
      detect(silent, `silent/${r}`, ['block-weighting', 'self-weighting']),
    ).flat();
    for (const test of ['fspP', 'fmpP', 'splitP', 'fallP', 'hotellingP'] as const) {
      const alarms = all.filter((lane) => lane[test] <= 0.05).length;
      // Two lanes of one patient go together: as if there were 32.
      expect(alarms / all.length, test).toBeLessThan(0.05 + 4 * Math.sqrt((0.05 * 0.95) / 32));
      const below = all.filter((lane) => lane[test] <= 0.5).length;
      expect(Math.abs(below / all.length - 0.5), test).toBeLessThan(4 * Math.sqrt(0.25 / 32));
    }
  });

  it('finds the same response where weights depend on the average, by sweeps turned before the averager', () => {
    const ids = ['kalman', 'sorted-averaging', 'trimmed-mean'];
    for (const lane of detect({ response: { amplitudeScale: 3 }, session: { durationS: 10 } }, '1', ids)) {
      expect(lane.turned).toBe('sweeps');
      expect(lane.fmp, lane.strategy).toBeGreaterThan(3);
      for (const p of [lane.fspP, lane.fmpP, lane.splitP, lane.fallP, lane.hotellingP]) {
        expect(p, lane.strategy).toBeLessThan(0.03);
      }
    }
  });

  // Few independent numbers in a sweep, so that what a strategy takes from the sweep itself matters: 4 standard errors.
  it.each(averagingStrategies.filter(({ signFree }) => signFree).map((strategy) => [strategy.id, strategy] as const))(
    'is right about chance in sweeps that are alike from sample to sample: %s',
    (_, strategy) => {
      const runs = 100;
      let alarms = 0;
      for (let r = 0; r < runs; r++) {
        const draws = stream(String(r), 'test/alike');
        const white = new Float64Array(64);
        const sweeps = Array.from({ length: 128 }, () => {
          fillGaussian(draws, white, 64);
          let value = white[0];
          const sweepUv = white.map((fresh) => {
            value = 0.95 * value + 0.31 * fresh;
            return 3 * value;
          });
          return { sweepUv };
        });
        const subject = { strategy, parameters: laneOf(resolveScenario({}), strategy.id).parameters };
        const shares = finalShares(outcomeOf(subject, sweeps).verdicts, sweeps.length);
        const gatherer = groupedSweeps(20, 60);
        for (const [k, { sweepUv }] of sweeps.entries()) gatherer.add(sweepUv, shares[k]);
        if (signFlipTest(gatherer.groups(), fRatioOfGroups(40, evenPoints(40, 20)), 39, String(r)).p <= 0.05) alarms++;
      }
      expect(alarms / runs).toBeLessThan(0.05 + 4 * Math.sqrt((0.05 * 0.95) / runs));
    },
  );

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
    expect(few).toMatchObject({ turned: 'nothing', fmp: NaN, fmpP: NaN, splitP: NaN, fallP: NaN, hotellingP: NaN });
    expect(detect({}, '3', ['plain-mean'])).toEqual(detect({}, '3', ['plain-mean']));
  });
});
