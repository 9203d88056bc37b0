import { describe, expect, it } from 'vitest';
import { plausibilityWarnings } from '../../../src/core/scenario/plausibility.ts';
import { presets } from '../../../src/core/scenario/presets.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
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
      { response: { kind: 'cvemp' }, stimulus: { levelDbNhl: 60 } },
      'stimulus.levelDbNhl: of less than 70 dB nHL wakes no balance organ, got 60',
    ],
    [
      { response: { kind: 'ecochg' }, ecochg: { actionPotentialUv: 0.55 } },
      'ecochg.actionPotentialUv: times response.amplitudeScale is seldom above 0.5 µV in the canal, got 0.55',
    ],
    [
      { electrodes: { ipsilateral: { type: 'canal', contactFactor: 10 } } },
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
      { montage: { site: 'canal' }, electrodes: { thermalNoise: true } },
      'electrodes.ipsilateral.type: is canal where the electrode sits (montage, ecochg), got surface',
    ],
    [
      { response: { kind: 'ecochg' }, ecochg: { electrode: 'membrane' }, electrodes: { thermalNoise: true } },
      'electrodes.ipsilateral.type: is membrane where the electrode sits (montage, ecochg), got canal',
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
