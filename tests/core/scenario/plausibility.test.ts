import { describe, expect, it } from 'vitest';
import { artefactPeakUv } from '../../../src/core/noise/artefactSize.ts';
import { plausibilityWarnings } from '../../../src/core/scenario/plausibility.ts';
import { preset, presets } from '../../../src/core/scenario/presets.ts';
import { resolveScenario, withOverrides } from '../../../src/core/scenario/resolve.ts';
import { sessionDefaults } from '../../../src/core/scenario/sessionDefaults.ts';

const warningsOf = (document: object) =>
  plausibilityWarnings(resolveScenario(document)).map(({ path, rule, value }) => `${path}: ${rule}, got ${value}`);

describe('plausibilityWarnings', () => {
  it.each(Object.keys(sessionDefaults))('an ordinary session for %s raises none', (kind) => {
    expect(warningsOf({ response: { kind } })).toEqual([]);
  });

  const cases = [
    // document, the warning
    [
      { stimulus: { ratePerS: 60 } },
      'window.postMs: with window.preMs is longer than the interval (16.67 ms): sweeps share samples, got 20',
    ],
    [
      { stimulus: { ratePerS: 25 } },
      'stimulus.ratePerS: should not divide mains.lineHz (50 Hz): the hum would stay, got 25',
    ],
    [{ stimulus: { levelDbNhl: 98 } }, 'stimulus.levelDbNhl: is seldom above 95 dB nHL for click-abr, got 98'],
    [
      { measures: { truth: 'normalised' } },
      'measures.truth: divides by a muscle that does not make the response of click-abr, got normalised',
    ],
    [
      { response: { kind: 'cvemp' }, stimulus: { levelDbNhl: 60 } },
      'stimulus.levelDbNhl: of less than 70 dB nHL wakes no balance organ, got 60',
    ],
    [
      { response: { kind: 'cortical' }, hearing: { desynchrony: { present: true } } },
      'hearing.desynchrony.present: does nothing to cortical here: slow waves outlast it, got true',
    ],
    [
      { response: { kind: 'cvemp' }, hearing: { retrocochlear: { present: true } } },
      'hearing.retrocochlear.present: does nothing to cvemp here: the balance nerve is another, got true',
    ],
    [
      { response: { kind: 'ecochg' }, ecochg: { actionPotentialUv: 0.55 } },
      'ecochg.actionPotentialUv: times response.amplitudeScale is above 0.5 µV, near the most that a canal shows, got 0.55',
    ],
    [
      { response: { kind: 'ecochg' }, electrodes: { ipsilateral: { contactFactor: 10 } } },
      'electrodes.ipsilateral.contactFactor: gives 150 kΩ at the test; above 100 kΩ it is practically off, got 10',
    ],
    [
      { electrodes: { common: { open: true } } },
      'electrodes.common.open: is seldom left so: the lead is off, got true',
    ],
    [
      { electrodes: { ground: { lossesPerS: 0.5 } } },
      'electrodes.ground.lossesPerS: loses contact most of the time, got 0.5',
    ],
    [
      { montage: { site: 'canal' }, electrodes: { contralateral: { type: 'canal' } } },
      'electrodes.ipsilateral.type: is canal where the electrode sits (montage, ecochg), got surface',
    ],
    [
      { response: { kind: 'ecochg' }, ecochg: { electrode: 'membrane' } },
      'electrodes.ipsilateral.type: is membrane where the electrode sits (montage, ecochg), got canal',
    ],
    [
      { electrodes: { ipsilateral: { type: 'membrane' } } },
      'electrodes.ipsilateral.type: is surface or needle where the electrode sits (montage, ecochg), got membrane',
    ],
    [
      { response: { kind: 'cvemp' }, electrodes: { contralateral: { type: 'needle' } } },
      'electrodes.contralateral.type: is surface where the electrode sits (montage, ecochg), got needle',
    ],
    [
      { response: { kind: 'ecochg' }, montage: { site: 'mastoid' } },
      'montage.site: is canal for ecochg: elsewhere muscles reach the electrode with another size, got mastoid',
    ],
    [
      { patient: { ageYears: 40, infant: { present: true, weeksPastTerm: 6 } } },
      'patient.ageYears: does not count while patient.infant.present is true: 6 weeks past term do, got 40',
    ],
    [{ room: { leadCurrentNaPerM: 500 } }, 'room.leadCurrentNaPerM: is seldom above 50 nA/m, got 500'],
    [{ room: { fieldUt: 100 } }, 'room.fieldUt: is seldom above 10 µT, got 100'],
    [{ room: { lampFieldUt: 11 } }, 'room.lampFieldUt: is seldom above 10 µT, got 11'],
    [
      { artefact: { peakUv: 10 }, stimulus: { levelDbNhl: 95 }, amplifier: { rangeUv: 90 } },
      'artefact.peakUv: gives 100 µV here: every stimulus drives the amplifier over its range (90 µV), got 10',
    ],
    [
      { response: { kind: 'ovemp' }, gaze: { targetDeg: 0, sagDeg: 40 } },
      'gaze.sagDeg: is usually not above gaze.targetDeg (0°): eyes sag downwards, got 40',
    ],
    [
      { response: { kind: 'cvemp' }, stimulus: { frequencyHz: 250, plateauCycles: 200 } },
      'stimulus.plateauCycles: makes a sound of 816 ms, longer than the interval (196.08 ms), got 200',
    ],
    [{ room: { bodyCurrentUa: 20 } }, 'room.bodyCurrentUa: is seldom above 5 µA, got 20'],
    [{ amplifier: { commonModeRejectionDb: 60 } }, 'amplifier.commonModeRejectionDb: is seldom below 80 dB, got 60'],
    [
      { response: { kind: 'cvemp' }, amplifier: { rangeUv: 50 } },
      'amplifier.rangeUv: is usually 1000 to 2000 µV for cvemp (gain 2500 to 5000), got 50',
    ],
    [
      { converter: { bits: 8 } },
      'converter.bits: gives 0.78 µV a code at amplifier.rangeUv 100 µV: coarse for click-abr, got 8',
    ],
    [{ converter: { guardMs: 20 } }, 'converter.guardMs: should be at least 3 × amplifier.recoveryMs (150 ms), got 20'],
    [
      { filter: { lowPassHz: 7000 } },
      'filter.lowPassHz: is near half of converter.sampleRateHz: usual up to 6400 Hz, got 7000',
    ],
    [{ filter: { highPassHz: 500 } }, 'filter.highPassHz: above 300 Hz takes the response with it, got 500'],
    [
      { filter: { highPassHz: 200, lowPassHz: 300 } },
      'filter.lowPassHz: leaves less than an octave above filter.highPassHz (200 Hz), got 300',
    ],
  ] as const;
  it.each(cases)('%j', (document, warning) => {
    expect(warningsOf(document)).toEqual([warning]);
  });

  it('counts the peak of a loud sound, whatever it is for', () => {
    const loud = { response: { kind: 'cvemp' }, stimulus: { kind: 'tone-burst', frequencyHz: 4000, levelDbNhl: 100 } };
    expect(warningsOf(loud)).toEqual([]); // 132.5 + 3 dB
    expect(warningsOf({ ...loud, stimulus: { kind: 'click', levelDbNhl: 100 } })).toEqual([]); // 135.5 + 3 dB
  });

  it('the crackling lead is quieter for every remedy: level, contact, shield, first stage at the head', () => {
    const at = (change: object) =>
      artefactPeakUv(
        resolveScenario(
          withOverrides(
            preset('crackling-lead'),
            Object.entries(change).map(([key, value]) => `${key}=${value}`),
          ),
        ),
      )[0];
    const before = at({});
    expect(before).toBeCloseTo(10, 0);
    expect(at({ 'electrodes.ipsilateral.contactFactor': 1 })).toBeLessThan(before / 6);
    expect(at({ 'leads.shieldFactor': 0.05 })).toBeCloseTo(before / 20, 9);
    expect(at({ 'leads.preampAtElectrode': true })).toBeCloseTo(before / 20, 9);
    expect(at({ 'stimulus.levelDbNhl': 55 })).toBeCloseTo(before / 10, 9);
  });

  it('jitter makes a rate that divides the line harmless', () => {
    expect(warningsOf({ stimulus: { ratePerS: 25, jitterMs: 5 } })).toEqual([]);
  });

  it('names what is in doubt only after an event, once, with its number', () => {
    const document = {
      filter: { lowPassHz: 7000 },
      events: [
        { atS: 10, set: { 'electrodes.ipsilateral.open': true } },
        { atS: 20, set: { 'amplifier.rangeUv': 200 } },
      ],
    };
    expect(warningsOf(document)).toEqual([
      'filter.lowPassHz: is near half of converter.sampleRateHz: usual up to 6400 Hz, got 7000',
      'after event 1: electrodes.ipsilateral.open: is seldom left so: the lead is off, got true',
    ]);
  });

  it('finds at most one fault with a preset, and then the one that its story is about', () => {
    for (const document of presets) expect(warningsOf(document).length, document.id).toBeLessThan(2);
    const fault = (id: string) => warningsOf(presets.find((document) => document.id === id) as object)[0];
    expect(fault('locked-line')).toContain('the hum would stay');
    expect(fault('dry-canal-electrode')).toContain('practically off');
  });
});
