import { describe, expect, it } from 'vitest';
import { finalShares } from '../../../src/core/averaging/finalShares.ts';
import { weightQuality } from '../../../src/core/quality/weightQuality.ts';
import { resolveScenario, withOverrides } from '../../../src/core/scenario/resolve.ts';
import {
  type BreakdownOrder,
  breakdownAxes,
  breakdownAxis,
  breakdownCurves,
} from '../../../src/core/session/breakdownCurves.ts';
import { labelledSweeps } from '../../../src/core/session/labelledSweeps.ts';
import { openLane } from '../../../src/core/session/lanes.ts';
import { averagingContext, startSession } from '../../../src/core/session/session.ts';

const plain = { strategy: 'plain-mean', parameters: {} };
const rejecting = { strategy: 'threshold-rejection', parameters: { thresholdUv: 15, skipMs: 1 } };
const document = { converter: { sampleRateHz: 8000 }, session: { durationS: 12 } };

function run(id: string, order: Partial<BreakdownOrder>, base: object = document) {
  const steps = breakdownCurves(base, breakdownAxis(id), {
    seed: '1',
    replicates: 4,
    lanes: [plain, rejecting],
    ...order,
  });
  let step = steps.next();
  for (; !step.done; step = steps.next()) expect(step.value).toBeLessThanOrEqual(1);
  return step.value;
}

describe('breakdown axes', () => {
  it.each(breakdownAxes.map((axis) => [axis.id, axis] as const))(
    '%s sets every level on the default patient',
    (_id, axis) => {
      const base = resolveScenario(document);
      expect([...axis.levels]).toEqual([...axis.levels].sort((a, b) => a - b));
      const ends = [axis.levels[0], axis.levels[axis.levels.length - 1]];
      const made = ends.map((level) => resolveScenario(withOverrides(document, axis.assignments(level, base))));
      expect(made[0]).not.toEqual(made[1]);
    },
  );

  it('contaminates the share of sweeps that it says', () => {
    const base = resolveScenario({ ...document, session: { durationS: 120 } });
    const scenario = resolveScenario(withOverrides(base, breakdownAxis('contaminated-share').assignments(0.3, base)));
    const bad = labelledSweeps(scenario, '1', ['muscle']).filter(({ disturbanceUv }) => disturbanceUv > 1).length;
    // About 55 bursts in two minutes: a standard error of some 4 %.
    expect(Math.abs(bad / 3324 - 0.3)).toBeLessThan(4 * 0.04);
  });

  it('clips the share of sweeps that it says', () => {
    const base = resolveScenario(document);
    const scenario = resolveScenario(withOverrides(base, breakdownAxis('clipped-share').assignments(0.2, base)));
    const session = startSession(scenario, '9');
    let flagged = 0;
    for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) if (sweep.overRange[0]) flagged++;
    expect(Math.abs(flagged / session.sweepCount - 0.2)).toBeLessThan(0.1); // another patient than the pilot
  });

  it('refuses an unknown axis, naming the choices', () => {
    expect(() => breakdownAxis('luck')).toThrow(
      /unknown breakdown axis "luck"; one of contaminated-share, burst-size,/,
    );
  });
});

describe('breakdownCurves', () => {
  it('bursts break the plain mean early and rejection late or never', () => {
    const [mean, rejection] = run('contaminated-share', { levels: [0, 0.1, 0.3] });
    expect(mean.breakdown.cause).toBe('noise');
    expect(mean.breakdown.level).toBeLessThan(0.1);
    expect(rejection.breakdown.level).toBeGreaterThan(mean.breakdown.level);
    expect(mean.points.map(({ level }) => level)).toEqual([0, 0.1, 0.3]);
  });

  it.each([
    [2, 'cannot-tell'],
    [3, 'none'],
  ])('from %i replicates it says %s of a patient who stays the same', (replicates, cause) => {
    const [mean] = run('burst-size', { levels: [0, 0.001], lanes: [plain], replicates });
    expect(mean.breakdown).toEqual({ level: cause === 'none' ? Infinity : NaN, cause });
  });

  it('a locked hum breaks both', () => {
    for (const { breakdown } of run('mains-nearness', { levels: [0, 0.5, 1] })) {
      expect(breakdown.cause).toBe('noise');
      expect(breakdown.level).toBeGreaterThan(0.5);
    }
  });

  it('a moving response leaves the plain mean behind: judged by the current response', () => {
    const [mean] = run('response-change', { levels: [0, 6], lanes: [plain] });
    expect(mean.breakdown.level).toBeLessThan(6);
  });
});

describe('labelledSweeps', () => {
  const scenario = resolveScenario({
    ...document,
    session: { durationS: 30 },
    muscle: { burstsPerS: 0.25 },
    amplifier: { rangeUv: 1000 },
  });
  const labels = labelledSweeps(scenario, '5', ['muscle']);

  it('knows each sweep: with and without the disturbance', () => {
    expect(labels).toHaveLength(Math.floor(30 * 27.7));
    const calm = labels.filter(({ disturbanceUv }) => disturbanceUv < 0.05);
    expect(calm.length).toBeGreaterThan(200);
    for (const { noiseUv, calmNoiseUv } of calm) expect(Math.abs(noiseUv - calmNoiseUv)).toBeLessThan(0.05);
    const bad = labels.filter(({ disturbanceUv }) => disturbanceUv > 5);
    expect(bad.length).toBeGreaterThan(50);
    for (const { noiseUv, calmNoiseUv } of bad) expect(noiseUv).toBeGreaterThan(calmNoiseUv);
  });

  it('judges weights: rejection keeps good sweeps and drops bad ones, the plain mean drops none', () => {
    const quality = [plain, rejecting].map((setting) => {
      const decisions: { index: number; weight: number; fade: number }[] = [];
      const context = averagingContext(scenario);
      const { averager } = openLane(
        setting,
        context,
        ({ index, weight, fade }) => void decisions.push({ index, weight, fade }),
      );
      const session = startSession(scenario, '5');
      for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
        const { index, timeS, polarity, overRange } = sweep;
        averager.add(sweep.recordedUv[0], { index, timeS, polarity, overRange: overRange[0] });
      }
      const shares = finalShares(decisions, labels.length);
      return weightQuality(labels.map((label, k) => ({ ...label, weight: shares[k] })));
    });
    expect(quality[0].falseReject).toBe(0);
    expect(quality[0].falseAccept).toBe(1);
    expect(quality[1].falseReject).toBeLessThan(0.05);
    expect(quality[1].falseAccept).toBeLessThan(0.35); // small bursts stay below ±15 µV
    expect(quality[1].area).toBeGreaterThan(0.8);
  });

  it('refuses an unknown source', () => {
    expect(() => labelledSweeps(scenario, '5', ['ghost'])).toThrow(/must be of .*, got ghost$/);
  });
});
