import { describe, expect, it } from 'vitest';
import { contractionLevel } from '../../../src/core/response/contraction.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';

const RATE = 8000;
const LEAD_IN_S = 0.5;

/** Level at each second of the session's clock. */
function levels(document: object, seconds: number): number[] {
  const scenario = resolveScenario({ response: { kind: 'cvemp' }, session: { durationS: 100 }, ...document });
  const level = contractionLevel(scenario, '1', 0);
  const all = new Float64Array((seconds + 1) * RATE);
  level.fill(all, 0, all.length);
  return Array.from({ length: seconds }, (_, s) => all[Math.round((s + LEAD_IN_S) * RATE)]);
}

const steady = { contraction: { logSd: 0, fatiguePerMin: 0.6 } };

describe('contractionLevel', () => {
  it('tires while it is held: a minute at 0.6 per minute leaves e^−0.6', () => {
    const held = levels(steady, 61);
    expect(held[60] / held[0]).toBeCloseTo(Math.exp(-0.6), 3);
  });

  it('rests in a pause: the head is down, the fatigue fades, and the head is up again a second before the end', () => {
    const rested = levels({ ...steady, events: [{ atS: 30, pauseS: 20 }] }, 61);
    const lengthS = Math.ceil(20 * 5.1) / 5.1;
    expect(rested[29]).toBeCloseTo(levels(steady, 30)[29], 12);
    // Held from the lead-in on.
    const fatigue = (timeS: number) => 0.01 * (30 + LEAD_IN_S) * Math.exp(-(timeS - 30) / 30);
    expect(rested[40]).toBeCloseTo(0.05 * Math.exp(-fatigue(40)), 3);
    const upAgainS = 30 + lengthS - 1;
    expect(rested[60]).toBeCloseTo(Math.exp(-fatigue(upAgainS) - 0.01 * (60 - upAgainS)), 3);
  });

  it('rests while the head is laid down: what half a minute of rest gives is there when it is lifted', () => {
    const events = [
      { atS: 30, action: 'lower-the-head' },
      { atS: 60, action: 'lift-the-head' },
    ];
    const level = levels({ ...steady, events }, 62);
    const fatigue = 0.01 * (30 + LEAD_IN_S) * Math.exp(-1);
    expect(level[60]).toBeCloseTo(Math.exp(-fatigue), 3);
    expect(level[61], 'and tires again').toBeCloseTo(Math.exp(-fatigue - 0.01), 3);
    expect(level[29]).toBeCloseTo(levels(steady, 30)[29], 12);
  });

  it('trains go on after a pause where they stood', () => {
    const stimulus = { trainS: 10, restS: 10 };
    const held = (list: number[]) => list.map((level) => level > 0.5);
    const plain = held(levels({ ...steady, stimulus }, 80));
    // Five seconds into the second train, which begins at 20 s, a pause of 20 s.
    const pauseS = 102 / 5.1;
    const paused = held(levels({ ...steady, stimulus, events: [{ atS: 25, pauseS }] }, 80));
    expect(paused.slice(0, 25)).toEqual(plain.slice(0, 25));
    expect(paused.slice(26, 44)).toEqual(Array(18).fill(false));
    expect(paused.slice(46, 80)).toEqual(plain.slice(26, 60));
  });
});
