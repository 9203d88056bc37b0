import { describe, expect, it } from 'vitest';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { startSession } from '../../../src/core/session/session.ts';
import { pausesOf, withPauses } from '../../../src/core/stimulus/pauses.ts';
import { beatS } from '../../../src/core/stimulus/schedule.ts';

const patient = { session: { durationS: 12 }, converter: { sampleRateHz: 8000 }, child: { present: true } };

function sweepsOf(document: object) {
  const session = startSession(resolveScenario(document), '3');
  const sweeps = [];
  for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
    sweeps.push({ timeS: sweep.timeS, polarity: sweep.polarity, recordedUv: sweep.recordedUv[0].slice() });
  }
  return sweeps;
}

describe('pauses', () => {
  it('are the cost of the action and what comes on top, in whole intervals', () => {
    const events = [
      { atS: 1, action: 'wait' },
      { atS: 40, action: 'clench' },
      { atS: 41, pauseS: 0.31 },
      { atS: 50, action: 'wait', pauseS: 2 },
    ];
    const scenario = resolveScenario({ session: { durationS: 60 }, stimulus: { ratePerS: 10 }, events });
    expect(pausesOf(scenario)).toEqual([
      { fromS: 1, lengthS: 30 },
      { fromS: 41, lengthS: 0.4 },
      { fromS: 50, lengthS: 32 },
    ]);
  });

  const moved = [
    // time without pauses, on the clock, why
    [1.9, 1.9, 'before'],
    [2, 5, 'a pause holds up what falls on its beginning'],
    [2.5, 5.5, 'after the first'],
    [2.9, 5.9, 'still before the second'],
    [3, 7, 'both'],
  ] as const;
  it.each(moved)('%f s comes at %f s: %s', (timeS, expected) => {
    const pauses = [
      { fromS: 2, lengthS: 3 },
      { fromS: 6, lengthS: 1 },
    ];
    expect(withPauses(pauses, timeS)).toBeCloseTo(expected, 12);
  });

  it('stop the sounds while the clock and the patient go on: not a bit changes before, not a sweep is lost', () => {
    const plain = sweepsOf(patient);
    const paused = sweepsOf({ ...patient, events: [{ atS: 6, pauseS: 4 }] });
    expect(paused).toHaveLength(plain.length);
    const before = plain.filter(({ timeS }) => timeS <= 6);
    expect(before.length).toBeGreaterThan(100);
    expect(paused.slice(0, before.length)).toEqual(before);
    const lengthS = Math.ceil(4 * 27.7) / 27.7;
    for (const [k, { timeS, polarity }] of paused.entries()) {
      expect(polarity).toBe(plain[k].polarity);
      const late = k < 6 * 27.7 - 1e-9 ? 0 : lengthS;
      expect(Math.abs(timeS - plain[k].timeS - late)).toBeLessThan(1.5 / 8000);
    }
  });

  it('let the same patient come by later: what is recorded after a pause is what was there anyway', () => {
    // A pause of 100 intervals: sweep 200 takes the place of what would have been sweep 300 of the same patient.
    const muted = { response: { kind: 'none' }, reflex: { peakUv: 0 }, stimulus: { ratePerS: 20 } };
    const plain = sweepsOf({ ...patient, ...muted });
    const paused = sweepsOf({ ...patient, ...muted, events: [{ atS: 5, pauseS: 5 }] });
    expect(paused[100].recordedUv).toEqual(plain[200].recordedUv);
    expect(paused[139].recordedUv).toEqual(plain[239].recordedUv);
  });

  it('keep a steady tone in step: the truth goes on as if nothing had been', () => {
    const document = {
      response: { kind: 'steady-state', amplitudeLogSd: 0 },
      session: { durationS: 30 },
      converter: { sampleRateHz: 16000 },
    };
    const truths = (events: object[]) => {
      const session = startSession(resolveScenario({ ...document, events }), '1');
      const all = [];
      for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) all.push(sweep.truthUv[0].slice());
      return all;
    };
    const paused = truths([{ atS: 10, pauseS: 7 }]);
    const plain = truths([]);
    // A sample more or less in the rounding of the stimulus is 1.6 % of a cycle's slope; out of step it would be 0.4 µV.
    for (let i = 0; i < plain[20].length; i++) expect(Math.abs(paused[20][i] - plain[20][i])).toBeLessThan(0.01);
  });

  it('come before or in a rest between trains: the train is not cut', () => {
    const stimulus = { ratePerS: 10, trainS: 2, restS: 3 };
    const scenario = resolveScenario({ session: { durationS: 8 }, stimulus, events: [{ atS: 3, pauseS: 1 }] });
    expect(beatS(scenario, 19)).toBeCloseTo(1.9, 9);
    expect(beatS(scenario, 20)).toBeCloseTo(2 + 3 + 1, 9);
    expect(beatS(scenario, 39)).toBeCloseTo(7.9, 9);
  });
});
