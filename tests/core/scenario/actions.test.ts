import { describe, expect, it } from 'vitest';
import { actionIds } from '../../../src/core/scenario/actionIds.ts';
import type { Action } from '../../../src/core/scenario/actions/action.ts';
import { action, actions } from '../../../src/core/scenario/actions.ts';
import { presets } from '../../../src/core/scenario/presets.ts';
import { resolveScenario, scenarioStages } from '../../../src/core/scenario/resolve.ts';
import type { Scenario } from '../../../src/core/scenario/schema.ts';

/** A patient to whom every action can be done. */
const anybody = {
  session: { durationS: 60 },
  child: { present: true, boredomPerMin: 0.1, cryingChance: 0.2 },
  muscle: { burstsPerS: 0.2 },
  neck: { tonicUv: 8, burstsPerS: 0.1 },
  eyes: { blinksPerS: 0.2 },
  reflex: { peakUv: 5 },
  artefact: { peakUv: 2 },
  skin: { sweatUv: 100 },
  shiver: { muscleUv: 8 },
  electrodes: { common: { contactFactor: 3 } },
  leads: { swapped: 'sides' },
  room: { fieldUt: 0.2, lampFieldUt: 0.05 },
  amplifier: { supply: 'mains' },
};
const upright = { session: { durationS: 20 }, response: { kind: 'ovemp' }, gaze: { targetDeg: 10 } };
const bodyFor = (id: string) => (id === 'look-up' ? upright : anybody);

function patientAfter(document: object, ...ids: string[]): Scenario {
  const events = ids.map((id) => ({ atS: 5, action: id }));
  const stages = scenarioStages(resolveScenario({ ...document, events }));
  return stages[ids.length].scenario;
}

describe('actions', () => {
  it.each(actions.map((entry) => [entry.id, entry] as const))(
    '%s says what it is, and does it',
    (id, entry: Action) => {
      expect(id).toMatch(/^[a-z]+(-[a-z]+)*$/);
      expect(entry.label).toMatch(/^[A-Z]/);
      expect(entry.effect.length).toBeGreaterThan(15);
      expect(entry.costS).toBeGreaterThanOrEqual(0);
      const start = resolveScenario(bodyFor(id));
      expect(entry.needs(start)).toBeNull();
      const done = patientAfter(bodyFor(id), ...(id === 'let-the-sound-through' ? ['mute-the-sound', id] : [id]));
      for (const [path, value] of Object.entries(entry.apply(start, 'none'))) {
        const [group, ...keys] = path.split('.');
        const read = (scenario: Scenario) =>
          keys.reduce<unknown>((at, key) => (at as Record<string, unknown>)[key], scenario[group as keyof Scenario]);
        expect(read(done), path).toBe(value);
      }
    },
  );

  it('change something of their own each, but for waiting', () => {
    for (const entry of actions) {
      const start = resolveScenario(bodyFor(entry.id));
      const undone = entry.id === 'let-the-sound-through';
      const before = undone ? patientAfter(bodyFor(entry.id), 'mute-the-sound') : start;
      const done = undone
        ? patientAfter(bodyFor(entry.id), 'mute-the-sound', entry.id)
        : patientAfter(bodyFor(entry.id), entry.id);
      const same = JSON.stringify({ ...done, events: [] }) === JSON.stringify({ ...before, events: [] });
      expect(same, entry.id).toBe(entry.id === 'wait');
    }
  });

  it('are all known to the schema, in the same order', () => {
    expect(actions.map(({ id }) => id)).toEqual(actionIds);
  });

  it('letting the sound through brings back what there was', () => {
    const back = patientAfter(anybody, 'mute-the-sound', 'let-the-sound-through');
    expect([back.response.amplitudeScale, back.reflex.peakUv, back.artefact.peakUv]).toEqual([1, 5, 2]);
  });

  it('letting the sound through takes back the muting alone, not what was set before it or meanwhile', () => {
    const events = [
      { atS: 1, set: { 'artefact.peakUv': 7, 'reflex.peakUv': 8 } },
      { atS: 2, action: 'mute-the-sound' },
      { atS: 3, action: 'pinch-the-tube' },
      { atS: 4, set: { 'reflex.peakUv': 9, 'mains.fundamentalUv': 3 } },
      { atS: 5, action: 'let-the-sound-through' },
    ];
    const stages = scenarioStages(resolveScenario({ ...anybody, events }));
    expect(stages.map(({ scenario: s }) => [s.response.amplitudeScale, s.reflex.peakUv, s.artefact.peakUv])).toEqual([
      [1, 5, 2],
      [1, 8, 7],
      [0, 0, 0],
      [0, 0, 0],
      [0, 9, 0], // set by itself, it shows at once
      [1, 9, 7],
    ]);
    expect(stages[5].scenario.mains.fundamentalUv).toBe(3);
  });

  it('lifting the head brings back the neck that was laid down, with its bursts', () => {
    const { neck } = patientAfter({ neck: { tonicUv: 30, burstsPerS: 0.1 } }, 'lower-the-head', 'lift-the-head');
    expect([neck.tonicUv, neck.burstsPerS]).toEqual([30, 0.1]);
    const held = { response: { kind: 'cvemp' }, contraction: { meanRectifiedUv: 150 } };
    const down = patientAfter(held, 'lower-the-head', 'lower-the-head');
    expect(down.contraction.meanRectifiedUv, 'down is down').toBe(7.5);
    expect(patientAfter(held, 'lower-the-head', 'lift-the-head').contraction.meanRectifiedUv).toBe(150);
  });

  it('build on each other: fed twice, quiet 6.25 times as long', () => {
    const document = { ...anybody, session: { durationS: 300 } };
    const events = [1, 100].map((atS) => ({ atS, action: 'feed-the-child' }));
    const stages = scenarioStages(resolveScenario({ ...document, events }));
    expect(stages[2].scenario.child.quiet.dwellS).toBeCloseTo(25 * 6.25, 9);
  });

  it('go to the electrode that is named, or to the one where it matters most', () => {
    const electrodes = { common: { contactFactor: 3 }, contralateral: { contactFactor: 8 }, ground: { open: true } };
    const prepared = (...targets: (string | undefined)[]) => {
      const events = targets.map((target) => ({ atS: 1, action: 're-prep-an-electrode', target }));
      for (const [k, event] of events.entries()) event.atS = 1 + 60 * k;
      const stages = scenarioStages(resolveScenario({ session: { durationS: 200 }, electrodes, events }));
      const { common, contralateral, ground } = stages[targets.length].scenario.electrodes;
      return [common.contactFactor, contralateral.contactFactor, ground.open];
    };
    expect(prepared('common')).toEqual([1, 8, true]);
    expect(prepared(undefined)).toEqual([3, 8, false]);
    expect(prepared(undefined, undefined)).toEqual([3, 1, false]);
    expect(prepared(undefined, undefined, undefined)).toEqual([1, 1, false]);
    expect(() => resolveScenario({ events: [{ atS: 1, action: 'wait', target: 'ground' }] })).toThrow(
      'events.0.target: must be none for action wait, got ground',
    );
    expect(() => resolveScenario({ events: [{ atS: 1, action: 'wait', target: 'left' }] })).toThrow(
      'events.0.target: must be none or common or',
    );
  });

  it('prepare again the electrode that jumps, and its jumps are over', () => {
    const jumping = (id: string) => {
      const events = [{ atS: 10, action: 're-prep-an-electrode' }];
      const [before, after] = scenarioStages(resolveScenario({ ...presets.find((entry) => entry.id === id), events }));
      return [before, after].map(({ scenario: { drift, electrodes } }) =>
        [electrodes.ipsilateral, electrodes.contralateral].map(({ stepFactor }) => drift.stepsPerS * stepFactor),
      );
    };
    expect(jumping('hurried-preparation')).toEqual([
      [0.1, 0],
      [0, 0],
    ]);
    expect(jumping('drifting-electrode')).toEqual([
      [0.2, 0.2],
      [0, 0.2],
    ]);
  });

  it('that last a while end by themselves, on top of what stays', () => {
    const events = [
      { atS: 10, action: 'clench' },
      { atS: 11, action: 'swallow' },
      { atS: 11.5, set: { 'mains.fundamentalUv': 7 } },
      { atS: 30, action: 'clench' },
    ];
    const stages = scenarioStages(resolveScenario({ ...anybody, events }));
    expect(
      stages.map(({ fromS, scenario: s }) => [fromS, s.muscle.heldUv, s.swallow.heldUv, s.mains.fundamentalUv]),
    ).toEqual([
      [-Infinity, 0, 0, 0.2],
      [10, 60, 0, 0.2],
      [11, 60, 40, 0.2],
      [11.5, 60, 40, 7],
      [12, 60, 0, 7],
      [13, 0, 0, 7],
      [30, 60, 0, 7],
      [33, 0, 0, 7],
    ]);
  });

  it('refuses an unknown name', () => {
    expect(action('none')).toBeNull();
    expect(() => action('toString')).toThrow('action: must be none, wait, ');
  });
});
