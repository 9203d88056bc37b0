import { describe, expect, it } from 'vitest';
import { testContacts } from '../../src/core/chain/contact.ts';
import { amplifierNoise } from '../../src/core/noise/amplifierNoise.ts';
import { pickup } from '../../src/core/noise/pickup.ts';
import { pickupByPath } from '../../src/core/noise/pickupPaths.ts';
import { thermal } from '../../src/core/noise/thermal.ts';
import { plausibilityWarnings } from '../../src/core/scenario/plausibility.ts';
import { resolveScenario } from '../../src/core/scenario/resolve.ts';
import { presentationCount } from '../../src/core/stimulus/schedule.ts';
import { playNoise } from '../core/noise/playNoise.ts';
import { bandPowers } from '../core/powerSpectrum.ts';
import { rms } from '../core/sampleStatistics.ts';

// Ids and sources stand beside each check. "Found" rows are limits; rows from memory are soft and say so.

const sizes = (document: object) =>
  Object.fromEntries(pickupByPath(resolveScenario(document)).map(({ path, harmonicsUv }) => [path, harmonicsUv[0][0]]));
/** All of body and lead current: what the contacts let in. */
const throughContacts = (document: object) => {
  const { imbalance, lead, rejection } = sizes(document);
  return imbalance + lead + rejection;
};
const surroundings = { bodyCurrentUa: 0.5, leadCurrentNaPerM: 3 };

describe('mains pickup', () => {
  it('depends on imbalance, input impedance, rejection and stray capacitance [F04: Spinelli, Mayosky 2005, found]', () => {
    const base = { room: surroundings, electrodes: { ipsilateral: { contactFactor: 2 } } };
    const uv = throughContacts(base);
    expect(throughContacts({ ...base, electrodes: { ipsilateral: { contactFactor: 3 } } })).toBeGreaterThan(1.9 * uv);
    expect(sizes({ ...base, amplifier: { inputPf: 400 } }).imbalance / sizes(base).imbalance).toBeCloseTo(2, 1);
    expect(sizes({ ...base, amplifier: { commonModeRejectionDb: 90 } }).rejection).toBeCloseTo(
      10 * sizes(base).rejection,
      9,
    );
    const stray = { ...base, room: { ...surroundings, bodyCurrentUa: 1 } };
    expect(sizes(stray).imbalance / sizes(base).imbalance).toBeCloseTo(2, 9);
  });

  it('is lower with three electrodes than with two [F05: Wood, Ewins, Balachandran 1995, found]', () => {
    const three = { room: surroundings, electrodes: { ipsilateral: { contactFactor: 2 } } };
    const two = { ...three, electrodes: { ...three.electrodes, ground: { open: true } } };
    expect(throughContacts(two)).toBeGreaterThan(10 * throughContacts(three));
    // "Isolation also lowers interference": less current through the body.
    const fed = { ...three, amplifier: { supply: 'mains', isolationCurrentUa: 0.3 } };
    expect(throughContacts(fed)).toBeGreaterThan(throughContacts(three));
  });

  it('comes through leads, body, loop, rejection and divider [F13: Huhta, Webster 1973, found]', () => {
    const unequal = { electrodes: { ipsilateral: { contactFactor: 2 } } };
    const heard = (room: object) =>
      Object.entries(sizes({ ...unequal, room }))
        .filter(([, uv]) => uv > 0)
        .map(([path]) => path);
    expect(heard({ bodyCurrentUa: 1 })).toEqual(['imbalance', 'rejection']);
    expect(heard({ leadCurrentNaPerM: 1 })).toEqual(['lead']);
    expect(heard({ fieldUt: 1 })).toEqual(['loop']);
  });

  it('V_cm·(ΔZ/Z_in + 1/CMRR): 10 mV, 2 kΩ, 100 MΩ, 100 dB give 0.2 + 0.1 µV [F14: divider, derived]', () => {
    const document = {
      room: { bodyCurrentUa: 2.2275 }, // × 4.489 kΩ of the ground contact
      electrodes: { ipsilateral: { contactFactor: 1.5 } },
      amplifier: { commonModeRejectionDb: 100, inputMohm: 100, inputPf: 1 },
    };
    expect(sizes(document).imbalance).toBeCloseTo(0.2, 2);
    expect(sizes(document).rejection).toBeCloseTo(0.1, 2);
  });

  it('a rejection of 100 dB is a factor of 100 000 [F10: instrumentation study guide, found]', () => {
    const at = (commonModeRejectionDb: number) =>
      sizes({ room: surroundings, amplifier: { commonModeRejectionDb } }).rejection;
    expect(at(40) / at(140)).toBeCloseTo(1e5, 3);
  });

  it('stays in the mean where the rate divides the line frequency [F12: Muengtaweepongsa 2019, found]', () => {
    const rateHz = 2000;
    const document = {
      converter: { sampleRateHz: rateHz },
      filter: { lowPassHz: 500 },
      mains: { wanderHz: 0 },
      room: { fieldUt: 1, fieldHarmonicRatios: [1], modulation: 0 },
    };
    const [hum] = playNoise(pickup, document, 45 * rateHz);
    const meanOf = (ratePerS: number) => {
      const mean = new Float64Array(40);
      for (let k = 0; k < 200; k++) {
        const from = Math.round((k * rateHz) / ratePerS);
        for (let i = 0; i < 40; i++) mean[i] += hum[from + i] / 200;
      }
      return rms(mean) / rms(hum);
    };
    expect(meanOf(5)).toBeGreaterThan(0.98);
    expect(meanOf(5.1)).toBeLessThan(0.05);
    const warned = (ratePerS: number) =>
      plausibilityWarnings(resolveScenario({ stimulus: { ratePerS } })).some(
        ({ path }) => path === 'stimulus.ratePerS',
      );
    expect([warned(5), warned(5.1)]).toEqual([true, false]);
  });
});

describe('electrodes', () => {
  it('well prepared discs are below 5 kΩ [F06: Behav. Brain Funct. 2008, 4:17, table 3, found], alike within 2 kΩ [F18]', () => {
    // F18: limits of 5 kΩ and 2 kΩ, practice values from memory.
    const kohm = testContacts(resolveScenario({})).map(({ testedKohm }) => testedKohm);
    for (const value of kohm) expect(value).toBeLessThan(5);
    expect(Math.max(...kohm) - Math.min(...kohm)).toBeLessThan(2);
    const [, hurried] = testContacts(resolveScenario({ electrodes: { ipsilateral: { contactFactor: 3 } } }));
    expect(hurried.testedKohm, 'hurried preparation misses both').toBeGreaterThan(7);
  });

  it('a whole published protocol is accepted without a word [G27: the same table, found]', () => {
    const scenario = resolveScenario({
      stimulus: { levelDbNhl: 70, ratePerS: 11.1, polarity: 'rarefaction' },
      session: { durationS: 1500 / 11.1 + 1e-9 },
      filter: { highPassHz: 30, lowPassHz: 3000 },
      window: { preMs: 10, postMs: 25 },
      montage: { site: 'mastoid' },
    });
    expect(presentationCount(scenario)).toBe(1500);
    expect(plausibilityWarnings(scenario)).toEqual([]);
    for (const { testedKohm } of testContacts(scenario)) expect(testedKohm).toBeLessThan(5);
  });

  it('5 kΩ make 0.498 µV in 3 kHz at 300 K [F15: √(4kTRB), derived]', () => {
    // Two contacts of 4.5 kΩ each, far below their corner, where R is all of Z: density there, scaled to 5 kΩ · 3 kHz.
    const rateHz = 2000;
    const document = {
      converter: { sampleRateHz: rateHz },
      filter: { lowPassHz: 500 },
      electrodes: { thermalNoise: true },
    };
    const [noise] = playNoise(thermal, document, 600 * rateHz);
    const [band] = bandPowers(noise, rateHz, 512, [[10, 100]]);
    const density = band.power / (band.toHz - band.fromHz);
    const uv = Math.sqrt((density / 9000) * 5000 * 3000);
    expect(Math.abs(uv / 0.498 - 1)).toBeLessThan((2 * band.standardError) / band.power + 0.003);
  });
});

describe('the amplifier', () => {
  const bandUv = (
    amplifier: object,
    rateHz: number,
    lowHz: number,
    highHz: number,
    segment: number,
    seconds: number,
  ) => {
    const document = {
      amplifier,
      converter: { sampleRateHz: rateHz },
      filter: { highPassHz: 1, lowPassHz: 0.4 * rateHz },
    };
    const [noise] = playNoise(amplifierNoise, document, seconds * rateHz);
    return Math.sqrt(bandPowers(noise, rateHz, segment, [[lowHz, highHz]])[0].power);
  };

  it('4.8 nV/√Hz are 0.45 µV from 10 Hz to 10 kHz [F08: Kumaragamage, Lithgow, Moussavi 2014, found]', () => {
    const quiet = { noiseNvPerRtHz: 4.8, flickerCornerHz: 10 };
    expect(Math.abs(bandUv(quiet, 32_000, 10, 10_000, 8192, 20) / 0.45 - 1)).toBeLessThan(0.1);
    // The default of 10 nV/√Hz is an everyday amplifier: about twice that.
    expect(bandUv({}, 32_000, 10, 10_000, 8192, 20) / 0.45).toBeLessThan(2.4);
  });

  it('0.1 to 100 Hz: the default is less than 0.35 µV, by a factor below 3 [F09: Metting van Rijn and others 1991, found]', () => {
    const uv = bandUv({}, 1000, 0.1, 100, 32_768, 3000);
    expect(uv).toBeLessThan(0.35);
    expect(uv).toBeGreaterThan(0.35 / 3);
  });

  it('has a common-mode rejection of 100 to 110 dB [F19: practice values, memory: soft]', () => {
    const { commonModeRejectionDb } = resolveScenario({}).amplifier;
    expect(commonModeRejectionDb).toBeGreaterThanOrEqual(100);
    expect(commonModeRejectionDb).toBeLessThanOrEqual(110);
  });
});
