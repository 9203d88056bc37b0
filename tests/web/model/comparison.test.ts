import { describe, expect, it } from 'vitest';
import { preset } from '../../../src/core/scenario/presets.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import type { Scenario } from '../../../src/core/scenario/schema.ts';
import { lanesOf } from '../../../src/core/session/lanes.ts';
import { activeSources, counterfactuals, pairedLanes, scenarioChanges } from '../../../src/web/model/comparison.ts';
import { type FullRun, fullRun } from '../../../src/web/worker/fullRun.ts';

const scenario = resolveScenario({
  ...preset('jaw-clencher'),
  session: { durationS: 20, targetNv: 150 },
  muscle: { burstsPerS: 1 },
});

function runOf(given: Scenario): FullRun {
  const running = fullRun(given, '4', lanesOf(given));
  let step = running.next();
  while (!step.done) step = running.next();
  return step.value;
}

function without(id: string): Scenario {
  const found = counterfactuals(scenario, '4').find((entry) => entry.id === id);
  return (found as NonNullable<typeof found>).apply(scenario);
}

describe('counterfactuals', () => {
  it('offer each source that is there, and none that is not', () => {
    expect(activeSources(scenario, '4').map(({ id }) => id)).toEqual(['eeg', 'muscle', 'mains', 'drift', 'amplifier']);
    const clenched = resolveScenario({ session: { durationS: 20 }, events: [{ atS: 3, action: 'clench' }] });
    expect(activeSources(clenched, '4').map(({ id }) => id)).toContain('muscle'); // only an event brings it
    expect(counterfactuals(clenched, '4').map(({ label }) => label)).toEqual([
      ...['without EEG background', 'without muscle bursts', 'without mains', 'without electrode drift'],
      ...['without amplifier noise', 'perfect electrodes', 'nothing done'],
    ]);
  });

  it('without its clenches the same patient is quiet, and nothing else has changed', () => {
    const [before, after] = [runOf(scenario), runOf(without('mute-muscle'))];
    const rows = pairedLanes(before, after, scenario);
    expect(rows[0].before.noiseUv).toBeGreaterThan(3 * rows[0].after.noiseUv);
    expect(rows[0].after.arrivalS).not.toBeNull();
    expect(after.truthUv).toEqual(before.truthUv);
    expect(pairedLanes(after, after, scenario)[0].differenceRmsUv).toBe(0);
    for (const { differenceUv } of rows) expect(differenceUv).toHaveLength(320);
  });
});

describe('scenarioChanges', () => {
  it('names what was changed and what was done, and nothing else', () => {
    const now = resolveScenario({
      ...preset('jaw-clencher'),
      session: { durationS: 20, targetNv: 150 },
      muscle: { burstsPerS: 1 },
      stimulus: { ratePerS: 31 },
      events: [{ atS: 3, action: 'swallow' }],
    });
    expect(scenarioChanges(scenario, now)).toEqual(['stimulus.ratePerS 27.7 → 31', 'done at 3 s: Ask for a swallow']);
    expect(scenarioChanges(scenario, scenario)).toEqual([]);
    expect(scenarioChanges(scenario, without('mute-muscle'))).toEqual(['session.mute nothing → muscle']);
  });
});
