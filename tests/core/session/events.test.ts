import { describe, expect, it } from 'vitest';
import { resolveScenario, scenarioStages } from '../../../src/core/scenario/resolve.ts';
import { startSession } from '../../../src/core/session/session.ts';
import { rms } from '../sampleStatistics.ts';
import { sessionDigest } from './digest.ts';

const patient = {
  session: { durationS: 12 },
  eeg: { alphaUv: 4 },
  muscle: { burstsPerS: 0.8 },
  child: { present: true },
  mains: { fundamentalUv: 4 },
  drift: { walkUvPerRtS: 20, stepsPerS: 0.5 },
  converter: { sampleRateHz: 8000 },
};

function sweepsOf(document: object, seed = '4'): { timeS: number; recordedUv: Float64Array; truthUv: Float64Array }[] {
  const session = startSession(resolveScenario(document), seed);
  const sweeps = [];
  for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
    sweeps.push({ timeS: sweep.timeS, recordedUv: sweep.recordedUv[0].slice(), truthUv: sweep.truthUv[0].slice() });
  }
  return sweeps;
}

const at = (atS: number, set: object) => ({ ...patient, events: [{ atS, set }] });

const changes: [string, object][] = [
  ['the mains', { 'mains.fundamentalUv': 0 }],
  ['the clenching', { 'muscle.burstsPerS': 0 }],
  ['the clenching, stronger', { 'muscle.burstUv': 100 }],
  ['the child', { 'child.quiet.muscleUv': 12, 'child.moving.muscleUv': 5 }],
  ['the electrodes', { 'drift.walkUvPerRtS': 0, 'drift.stepsPerS': 0 }],
  ['the gain', { 'amplifier.rangeUv': 20 }],
  ['the filter', { 'filter.highPassHz': 300 }],
  ['the level', { 'stimulus.levelDbNhl': 30 }],
  ['the hearing', { 'hearing.thresholdsDbHl': [60, 60, 60, 60, 60] }],
  ['the middle ear', { 'hearing.conductiveDb': 25 }],
];

describe('events', () => {
  it.each(changes)('change %s from their time on, and not one bit before', (_what, set) => {
    const plain = sweepsOf(patient);
    const changed = sweepsOf(at(6, set));
    const before = plain.filter(({ timeS }) => timeS <= 6);
    expect(before.length).toBeGreaterThan(100);
    expect(changed.slice(0, before.length)).toEqual(before);
    expect(changed.slice(before.length + 5)).not.toEqual(plain.slice(before.length + 5));
  });

  it('of the ears change the response itself: an ear that fades and comes back', () => {
    const truthUv = (set: object, k: number) => {
      const events = [
        { atS: 4, set },
        { atS: 8, set: { 'hearing.thresholdsDbHl': [0, 0, 0, 0, 0], 'hearing.conductiveDb': 0 } },
      ];
      const within = sweepsOf({ ...patient, events }).filter(({ timeS }) => Math.floor(timeS / 4) === k);
      return rms(within.slice(2, -2).map((sweep) => rms(sweep.truthUv)));
    };
    const deaf = { 'hearing.thresholdsDbHl': [90, 90, 90, 90, 90] };
    expect(truthUv(deaf, 1)).toBeLessThan(1e-5); // µV: what the filters remember
    expect(truthUv(deaf, 2)).toBeGreaterThan(0.9 * truthUv(deaf, 0));
    const middleEar = { 'hearing.conductiveDb': 40 };
    expect(truthUv(middleEar, 1)).toBeLessThan(0.7 * truthUv(middleEar, 0));
    expect(truthUv(middleEar, 1)).toBeGreaterThan(0.2 * truthUv(middleEar, 0));
  });

  it('replay the patient who was so from the start: streams are tied to time', () => {
    // The chain remembers nothing beyond a second; the drift does, so it stays out of this.
    const still = { ...patient, drift: { walkUvPerRtS: 0 } };
    const always = sweepsOf({ ...still, mains: { fundamentalUv: 1 } });
    const later = sweepsOf({ ...still, events: [{ atS: 4, set: { 'mains.fundamentalUv': 1 } }] });
    for (const [k, { timeS, recordedUv }] of later.entries()) {
      if (timeS < 9) continue;
      const gap = Math.max(...recordedUv.map((value, i) => Math.abs(value - always[k].recordedUv[i])));
      expect(gap).toBeLessThan(0.02); // µV: what the 0.5 Hz coupling still remembers after 5 s, and rounding
    }
  });

  it('mute the sound: the truth is silent from the next sweep on', () => {
    const sweeps = sweepsOf(at(6, { 'response.amplitudeScale': 0 }));
    const after = sweeps.filter(({ timeS }) => timeS > 6.2);
    // The filters still ring a little from the last response.
    for (const { truthUv } of after) expect(Math.max(...truthUv.map(Math.abs))).toBeLessThan(0.01);
    expect(Math.max(...sweeps[0].truthUv)).toBeGreaterThan(0.1);
  });

  it('a clench that is asked for is loud for three seconds, and then the patient is as before', () => {
    const plain = sweepsOf(patient);
    const clenched = sweepsOf({ ...patient, events: [{ atS: 4, action: 'clench' }] });
    const excessUv = clenched.map(({ recordedUv }, k) =>
      rms(recordedUv.map((value, i) => value - plain[k].recordedUv[i])),
    );
    const during = excessUv.filter((_, k) => plain[k].timeS > 4.1 && plain[k].timeS < 6.9);
    // 60 µV at the electrodes; the band-pass of 100–1500 Hz leaves most of it, the range of ±100 µV takes the tips.
    for (const sizeUv of during) expect(sizeUv).toBeGreaterThan(20);
    const after = excessUv.filter((_, k) => plain[k].timeS > 10.5); // overload tails and 0.5 Hz coupling are over
    expect(Math.max(...after)).toBeLessThan(0.1);
  });

  it('actions replay from scenario and seed, written by name or as the keys they stand for', () => {
    const byName = sweepsOf({ ...patient, events: [{ atS: 5, action: 'relax-the-jaw' }] });
    expect(sweepsOf({ ...patient, events: [{ atS: 5, action: 'relax-the-jaw' }] })).toEqual(byName);
    const set = { 'muscle.burstsPerS': 0.8 / 5, 'muscle.burstUv': 12.5 };
    expect(sweepsOf({ ...patient, events: [{ atS: 5, pauseS: 10, set }] })).toEqual(byName);
  });

  it.each([1, 37, 4096])('give the same bits in blocks of %i samples', (block) => {
    const document = { ...at(3.1234, changes[0][1]), session: { durationS: 6 } };
    document.events.push({ atS: 4.4, set: changes[5][1] }, { atS: 5, set: { 'mains.fundamentalUv': 9 } });
    document.events.push({ atS: 5.5, action: 'clench', pauseS: 1.1 } as never);
    expect(sessionDigest(document, '1', block)).toBe(sessionDigest(document, '1'));
  });

  it('may come in any number, each on top of the one before', () => {
    const stages = scenarioStages(
      resolveScenario({
        events: [
          { atS: 1, note: 'gel', set: { 'drift.walkUvPerRtS': 1 } },
          { atS: 1, set: { 'amplifier.rangeUv': 500 } },
          { atS: 8, set: { 'drift.walkUvPerRtS': 2 } },
        ],
      }),
    );
    expect(
      stages.map(({ fromS, scenario }) => [fromS, scenario.drift.walkUvPerRtS, scenario.amplifier.rangeUv]),
    ).toEqual([
      [-Infinity, 3, 100],
      [1, 1, 100],
      [1, 1, 500],
      [8, 2, 500],
    ]);
  });

  it.each([
    [
      [
        { atS: 5, set: {} },
        { atS: 4, set: {} },
      ],
      'events.1.atS: must not be before the event above (5 s), got 4',
    ],
    [[{ atS: 5, set: { 'stimulus.ratePerS': 11 } }], 'events.0.set: stimulus.ratePerS cannot change during a session'],
    [
      [{ atS: 5, set: { 'converter.bits': 12 } }],
      'events.0.set: converter cannot change during a session, got converter.bits',
    ],
    [[{ atS: 5, set: { 'mains.fundamentalUv': -1 } }], 'events.0.set: mains.fundamentalUv: must be a number from 0'],
    [[{ atS: 5, set: { 'mains.volts': 1 } }], 'events.0.set: mains.volts: unknown key; known here: lineHz'],
    [[{ atS: 5, set: { 'mains.lineHz.x': 1 } }], 'events.0.set: lineHz in mains.lineHz.x is a value, not a group'],
    [
      [{ atS: 5, set: { stimulus: { ratePerS: 5 } } }],
      'events.0.set: must name single keys by their full path, such as stimulus.levelDbNhl, got stimulus',
    ],
    [[{ atS: 5, set: { response: { kind: 'cvemp' } } }], 'events.0.set: must name single keys by their full path'],
    [[{ atS: 5, set: { 'child.quiet': { dwellS: 9 } } }], 'such as child.quiet.dwellS, got child.quiet'],
    [[{ atS: -1, set: {} }], 'events.0.atS: must be a number from 0 to 7200 s, got -1'],
    [[{ atS: 1, sets: {} }], 'events.0.sets: unknown key'],
    [[{ atS: 121, set: {} }], 'events.0.atS: must not be after the last stimulus (119.964 s), got 121'],
    [[{ atS: 1, action: 'fly' }], 'events.0.action: must be none or wait or feed-the-child or '],
    [[{ atS: 1, action: 'feed-the-child' }], 'events.0.action: needs child.present true at 1 s, got feed-the-child'],
    [
      [
        { atS: 10, action: 'wait' },
        { atS: 30, pauseS: 5 },
      ],
      'events.1.atS: must not begin a pause in that of events.0 (until 40 s), got 30',
    ],
  ])('refuse %j', (events, message) => {
    expect(() => resolveScenario({ events })).toThrow(message);
  });
});
