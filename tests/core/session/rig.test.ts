import { describe, expect, it } from 'vitest';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { continuousRecording } from '../../../src/core/session/continuousRecording.ts';
import { noiseLedger } from '../../../src/core/session/ledger.ts';
import { startSession } from '../../../src/core/session/session.ts';
import { rms } from '../sampleStatistics.ts';
import { sessionDigest } from './digest.ts';

const silent = {
  eeg: { slowUv: 0, floorNvPerRtHz: 0 },
  mains: { fundamentalUv: 0, wanderHz: 0 },
  drift: { walkUvPerRtS: 0 },
  amplifier: { noiseNvPerRtHz: 0, rangeUv: 100_000 },
  response: { latencyJitterMs: 0, amplitudeLogSd: 0 },
  converter: { bits: 24 },
};

interface Heard {
  timeS: number;
  recordedUv: Float64Array[];
  truthUv: Float64Array[];
  overRange: boolean[];
}

function sweepsOf(document: object, seed = '4'): Heard[] {
  const session = startSession(resolveScenario(document), seed);
  const sweeps: Heard[] = [];
  for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
    const { timeS, recordedUv, truthUv, overRange } = sweep;
    sweeps.push({
      timeS,
      recordedUv: recordedUv.map((channel) => channel.slice()),
      truthUv: truthUv.map((channel) => channel.slice()),
      overRange: [...overRange],
    });
  }
  return sweeps;
}

const largest = (signal: Float64Array) => signal.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
const gap = (a: Float64Array, b: Float64Array) => largest(a.map((value, i) => value - b[i]));

describe('zero-phase filters in a session', () => {
  const patient = { ...silent, session: { durationS: 3 } };
  const zero = { ...patient, filter: { phase: 'zero-phase' } };

  it('keep each response at its stimulus: wave V comes earlier than through causal filters, never than unfiltered', () => {
    const peakMs = (document: object) => {
      const [sweep] = sweepsOf(document).slice(-1);
      const [truth] = sweep.truthUv;
      const at = truth.indexOf(Math.max(...truth.subarray(5 * 16 + 60, 5 * 16 + 130)));
      return (at - 80) / 16;
    };
    const open = peakMs({ ...patient, filter: { highPassHz: 1, lowPassHz: 7900, lowPassOrder: 1 } });
    const causal = peakMs({ ...patient, filter: { highPassHz: 1, lowPassHz: 1500 } });
    const both = peakMs({ ...zero, filter: { phase: 'zero-phase', highPassHz: 1, lowPassHz: 1500 } });
    expect(causal - open).toBeGreaterThan(0.1);
    expect(Math.abs(both - open)).toBeLessThan(0.13); // two samples; the peak is rounded but not delayed
  });

  it('record what truth says: both wait the same time', () => {
    for (const { recordedUv, truthUv } of sweepsOf(zero)) {
      expect(gap(recordedUv[0], truthUv[0])).toBeLessThan(0.05); // LSB 0.012 µV
      expect(largest(truthUv[0])).toBeGreaterThan(0.1);
    }
  });

  it.each([1, 37, 4096])('give the same bits in blocks of %i samples', (block) => {
    const document = { session: { durationS: 2 }, filter: { phase: 'zero-phase', family: 'bessel', lowPassOrder: 4 } };
    expect(sessionDigest(document, '1', block)).toBe(sessionDigest(document, '1'));
  });

  it('end with the promised number of sweeps at the promised times', () => {
    const timesOf = (document: object) => sweepsOf(document).map(({ timeS }) => timeS);
    expect(timesOf(zero)).toEqual(timesOf(patient));
  });

  it('leave the continuous recording where it was: its pieces are those of the sweeps', () => {
    const document = { ...zero, session: { durationS: 2 } };
    const pieces = [...continuousRecording(resolveScenario(document), '4')];
    expect(pieces[0].start).toBe(0);
    const whole = Float64Array.from(pieces.flatMap(({ recordedUv }) => [...recordedUv[0]]));
    const stimuli = pieces.flatMap((piece) => piece.stimuli);
    for (const [k, { recordedUv }] of sweepsOf(document).entries()) {
      const from = stimuli[k].sample - 80;
      expect(whole.subarray(from, from + 320)).toEqual(recordedUv[0]);
    }
  });

  it('may be switched on during a session: the sweeps before are as they were', () => {
    const events = [{ atS: 2, set: { 'filter.phase': 'zero-phase' } }];
    const plain = sweepsOf(patient);
    const changed = sweepsOf({ ...patient, events });
    const always = sweepsOf(zero);
    for (const [k, { timeS, recordedUv }] of changed.entries()) {
      if (timeS <= 2) expect(recordedUv).toEqual(plain[k].recordedUv);
      else if (timeS > 2.1) expect(recordedUv).toEqual(always[k].recordedUv);
    }
    const digest = sessionDigest({ ...patient, events }, '1');
    expect(sessionDigest({ ...patient, events }, '1', 37)).toBe(digest);
  });

  it('refuse a corner that would need more than half a minute of the future', () => {
    const rule = 'filter.highPassHz: must be at least 0.2 Hz for order 2 in filter.phase zero-phase, got 0.1';
    expect(() => resolveScenario({ filter: { phase: 'zero-phase', highPassHz: 0.1 } })).toThrow(rule);
  });
});

describe('converter.guardFilters', () => {
  it.each(['causal', 'zero-phase'])('flags every sweep into which %s filters carry a clip', (phase) => {
    const base = {
      session: { durationS: 40 },
      filter: { phase, highPassHz: 20 },
      room: { switchingsPerS: 1, switchingUv: 800 },
    };
    const amplifier = { rangeUv: 50, recoveryMs: 1 };
    const converter = { guardMs: 0 };
    const without = sweepsOf({ ...base, amplifier, converter });
    const guarded = sweepsOf({ ...base, amplifier, converter: { ...converter, guardFilters: true } });
    // The same patient without a rail tells which sweeps the clips have really touched.
    const linear = sweepsOf({ ...base, amplifier: { ...amplifier, rangeUv: 100_000 }, converter: { bits: 24 } });
    let missed = 0;
    let touched = 0;
    for (const [k, sweep] of guarded.entries()) {
      expect(sweep.recordedUv).toEqual(without[k].recordedUv);
      if (without[k].overRange[0]) expect(sweep.overRange[0]).toBe(true);
      // 1 % of some hundred µV that a clip takes away.
      const changed = gap(sweep.recordedUv[0], linear[k].recordedUv[0]) > 5;
      if (changed && !without[k].overRange[0]) touched++;
      if (changed && !sweep.overRange[0]) missed++;
    }
    expect(touched, 'clips that the plain flag misses').toBeGreaterThan(2);
    expect(missed).toBe(0);
  });
});

const humming = {
  ...silent,
  session: { durationS: 8 },
  stimulus: { ratePerS: 23.3 },
  response: { kind: 'none' },
  filter: { highPassHz: 10, lowPassHz: 3000 },
  electrodes: { ipsilateral: { contactFactor: 2.5 } },
  room: { leadCurrentNaPerM: 5, fieldUt: 0.2, bodyCurrentUa: 0.5, modulation: 0 },
};

describe('what somebody does to the electrodes during a session', () => {
  const size = (sweeps: Heard[], channel = 0) => rms(sweeps.flatMap(({ recordedUv }) => [...recordedUv[channel]]));

  const remedies = [
    // what is set, bounds of what is left of the hum, why
    ['re-prepares the electrode', { 'electrodes.ipsilateral.contactFactor': 1 }, 0.05, 0.5, 'no imbalance is left'],
    ['moves the first stage to the head', { 'leads.preampAtElectrode': true }, 0.01, 0.15, 'all paths shrink'],
    ['puts on a shield', { 'leads.shieldFactor': 0.05 }, 0.05, 0.5, 'the lead current is the larger part'],
    ['tears the lead off', { 'electrodes.ipsilateral.open': true }, 50, 5000, 'millivolts'],
    ['plugs in a mains supply', { 'amplifier.supply': 'mains' }, 1.0001, 1.5, 'the body current grows a little'],
  ] as const;
  it.each(remedies)('%s: from then on, and not one bit before', (_what, set, low, high, why) => {
    const plain = sweepsOf(humming);
    const changed = sweepsOf({ ...humming, events: [{ atS: 4, set }] });
    const before = plain.filter(({ timeS }) => timeS <= 4).length;
    for (let k = 0; k < before; k++) {
      if (gap(changed[k].recordedUv[0], plain[k].recordedUv[0]) !== 0) expect.fail(`sweep ${k} has changed`);
    }
    // The input coupling takes a while to forget a jump of the hum.
    const ratio = size(changed.slice(before + 40)) / size(plain.slice(before + 40));
    expect(ratio, why).toBeGreaterThan(low);
    expect(ratio, why).toBeLessThan(high);
  });

  it('bunching the leads takes four fifths of what comes through their loop', () => {
    const magnetic = { ...humming, room: { fieldUt: 1, modulation: 0 } };
    const plain = sweepsOf(magnetic);
    const bunched = sweepsOf({ ...magnetic, events: [{ atS: 4, set: { 'leads.loopM2PerM': 0.01 } }] });
    const late = (sweeps: Heard[]) => size(sweeps.filter(({ timeS }) => timeS > 6));
    expect(late(bunched) / late(plain)).toBeCloseTo(0.2, 2);
  });

  it('a contact that is torn off and put back is as it was', () => {
    const events = [
      { atS: 2, set: { 'electrodes.ipsilateral.open': true } },
      { atS: 4, set: { 'electrodes.ipsilateral.open': false } },
    ];
    const plain = sweepsOf(humming);
    const changed = sweepsOf({ ...humming, events });
    for (const [k, { timeS, recordedUv }] of changed.entries()) {
      if (timeS > 7)
        expect(gap(recordedUv[0], plain[k].recordedUv[0])).toBeLessThan(1e-3 * size(plain.slice(k, k + 1)) + 0.1);
    }
  });
});

describe('leads that are plugged in wrongly', () => {
  const patient = { ...silent, session: { durationS: 1 }, eeg: { slowUv: 6 } };
  const channelsOf = (leads: object) => sweepsOf({ ...patient, leads });
  const right = channelsOf({});

  it.each([
    [{ reversed: true }, ([x0, x1]: number[]) => [-x0, -x1]],
    [{ swapped: 'sides' }, ([x0, x1]: number[]) => [x1, x0]],
    [{ swapped: 'common-ipsilateral' }, ([x0, x1]: number[]) => [-x0, x1 - x0]],
  ] as const)('%j: recording and truth alike, to the rounding of the converter', (leads, expected) => {
    for (const [k, wrong] of channelsOf(leads).entries()) {
      for (const part of ['recordedUv', 'truthUv'] as const) {
        for (let i = 0; i < wrong.recordedUv[0].length; i += 11) {
          const values = expected([right[k][part][0][i], right[k][part][1][i]]);
          for (const c of [0, 1]) expect(Math.abs(wrong[part][c][i] - values[c])).toBeLessThan(0.05);
        }
      }
    }
  });

  it('do not touch the noise of the amplifier', () => {
    const noisy = { ...patient, eeg: { slowUv: 0, floorNvPerRtHz: 0 }, response: { kind: 'none' } };
    const amplifier = { ...silent.amplifier, noiseNvPerRtHz: 10 };
    const [plain, reversed] = [{}, { reversed: true }].map((leads) => sweepsOf({ ...noisy, amplifier, leads }));
    expect(reversed.map(({ recordedUv }) => recordedUv)).toEqual(plain.map(({ recordedUv }) => recordedUv));
  });
});

describe('the ledger', () => {
  it('has a row for what an event brings', () => {
    const document = { ...humming, room: {}, events: [{ atS: 4, set: { 'room.fieldUt': 1 } }] };
    const steps = noiseLedger(resolveScenario(document), '3', [{ strategy: 'plain-mean', parameters: {} }]);
    let step = steps.next();
    while (!step.done) step = steps.next();
    expect(step.value[0].rows.find(({ id }) => id === 'pickup')?.rmsNv).toBeGreaterThan(1);
  });

  it.each([{ phase: 'causal' }, { phase: 'zero-phase', family: 'bessel' }])(
    'adds up with every source of the rig, wrong leads and %j',
    (filter) => {
      const scenario = resolveScenario({
        session: { durationS: 6 },
        filter,
        leads: { swapped: 'common-ipsilateral', reversed: true },
        room: { bodyCurrentUa: 0.1, leadCurrentNaPerM: 1, fieldUt: 0.03, switchingsPerS: 1 },
        electrodes: { thermalNoise: true, ipsilateral: { contactFactor: 2 } },
        amplifier: { rangeUv: 5000, currentNoiseFaPerRtHz: 100 },
        converter: { bits: 24, antiAlias: true },
      });
      const steps = noiseLedger(scenario, '3', [{ strategy: 'plain-mean', parameters: {} }]);
      let step = steps.next();
      while (!step.done) step = steps.next();
      const [{ rows, exact }] = step.value;
      expect(exact).toBe(true);
      const ids = rows.map(({ id }) => id);
      for (const id of ['pickup', 'switching', 'thermal', 'current', 'amplifier']) expect(ids).toContain(id);
      // Nothing clips and the converter has 24 bits: the remainder is rounding.
      expect(rows.find(({ id }) => id === 'remainder')?.rmsNv).toBeLessThan(0.2);
    },
  );
});
