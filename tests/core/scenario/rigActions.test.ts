import { describe, expect, it } from 'vitest';
import { electrodeNames } from '../../../src/core/chain/contact.ts';
import { pickupByPath } from '../../../src/core/noise/pickupPaths.ts';
import { eventsSchema } from '../../../src/core/scenario/events.ts';
import { resolveScenario, scenarioStages } from '../../../src/core/scenario/resolve.ts';
import { startSession } from '../../../src/core/session/session.ts';

/** Bedside in intensive care: one hurried electrode, spread leads, amplifier on the mains. */
const bedside = {
  session: { durationS: 600 },
  room: { bodyCurrentUa: 0.5, leadCurrentNaPerM: 5, fieldUt: 1 },
  electrodes: { ipsilateral: { contactFactor: 2.5 } },
  amplifier: { supply: 'mains', isolationCurrentUa: 5 },
};

/** Pickup in the ipsilateral channel by path, µV peak at 50 Hz, after each of the actions. */
function pickupAfter(...ids: string[]): Record<string, number>[] {
  const events = ids.map((action, k) => ({ atS: 10 + 100 * k, action }));
  return scenarioStages(resolveScenario({ ...bedside, events })).map(({ scenario }) =>
    Object.fromEntries(pickupByPath(scenario).map(({ path, harmonicsUv }) => [path, harmonicsUv[0][0]])),
  );
}

describe('rig actions', () => {
  it('know every electrode of a montage', () => {
    const { target } = eventsSchema.items.properties;
    expect((target as unknown as { anyOf: { const: string }[] }).anyOf.map((entry) => entry.const)).toEqual([
      'none',
      ...electrodeNames,
    ]);
  });

  it('preparing the worst electrode again takes away what the leads put in', () => {
    const [before, after] = pickupAfter('re-prep-an-electrode');
    // 5 nA/m · 1.2 m · 6 kΩ of imbalance = 36 µV.
    expect(before.lead).toBeGreaterThan(32);
    expect(before.lead).toBeLessThan(38);
    expect(after.lead).toBeLessThan(1e-6); // all contacts alike
    expect(after.loop).toBe(before.loop);
  });

  it('a first stage at the head leaves a twentieth of lead current and loop', () => {
    const [before, after] = pickupAfter('move-the-preamp-to-the-head');
    expect(after.loop / before.loop).toBeCloseTo(0.05, 6);
    expect(after.lead / before.lead).toBeCloseTo(0.05, 2);
  });

  it('bunching shrinks the loop fivefold, the battery takes the isolation current, distance takes three quarters', () => {
    const [start, bunched, onBattery, away] = pickupAfter(
      'bunch-the-leads',
      'switch-to-battery',
      'move-the-cables-away',
    );
    expect(bunched.loop / start.loop).toBeCloseTo(0.2, 9);
    expect(onBattery.rejection / bunched.rejection).toBeCloseTo(0.5 / 5.5, 9);
    expect(away.loop / onBattery.loop).toBeCloseTo(0.25, 9);
    expect(away.rejection / onBattery.rejection).toBeCloseTo(0.25, 9);
  });

  it('a pump brings what intensive care has, on top', () => {
    const [start, near] = pickupAfter('bring-a-pump-near');
    expect(near.loop / start.loop).toBeCloseTo(2, 9);
    expect(near.lead / start.lead).toBeCloseTo(2, 9);
  });

  it('are seen in the recording: before the event not a bit, after it less mains', () => {
    const powers = (events: object[]) => {
      const session = startSession(resolveScenario({ ...bedside, session: { durationS: 8 }, events }), '2');
      const all = [];
      for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
        all.push({ timeS: sweep.timeS, powerUv2: sweep.recordedUv[0].reduce((sum, value) => sum + value * value, 0) });
      }
      return all;
    };
    const plain = powers([]);
    const moved = powers([{ atS: 4, action: 'move-the-preamp-to-the-head' }]);
    const before = plain.filter(({ timeS }) => timeS <= 4);
    expect(moved.slice(0, before.length)).toEqual(before);
    const sum = (list: typeof plain, k: number) => list.slice(k).reduce((total, { powerUv2 }) => total + powerUv2, 0);
    expect(sum(moved, before.length + 20)).toBeLessThan(0.2 * sum(plain, before.length + 20));
  });
});
