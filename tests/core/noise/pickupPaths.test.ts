import { describe, expect, it } from 'vitest';
import { contactOf, impedanceAt } from '../../../src/core/chain/contact.ts';
import { sizeOf } from '../../../src/core/complex.ts';
import { pickupByPath } from '../../../src/core/noise/pickupPaths.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';

const pathsOf = (document: object) =>
  Object.fromEntries(pickupByPath(resolveScenario(document)).map((entry) => [entry.path, entry]));
const first = (document: object, path: string) => pathsOf(document)[path].harmonicsUv[0][0];

/** An ear contact 6 kΩ above the vertex, as near as 20 % can tell at 50 Hz: 4 kΩ × 2.5 − 4 kΩ. */
const unequal = { ipsilateral: { contactFactor: 2.5 } };

/** The same above a ground of 5 kΩ. */
const poorGround = { ...unequal, ground: { contactFactor: 1.125 } };

describe('pickupByPath', () => {
  it('is nothing in a quiet room on battery', () => {
    for (const { totalUv } of pickupByPath(resolveScenario({}))) expect(totalUv).toEqual([0, 0]);
  });

  const worked = [
    // document, path, µV, tolerance µV, why
    [{ room: { leadCurrentNaPerM: 5 }, electrodes: unequal }, 'lead', 36, 0.1, '5 nA/m · 1.2 m · 6 kΩ'],
    [{ room: { fieldUt: 1 } }, 'loop', 18.85, 0.01, '2π · 50 Hz · 1 µT · 0.06 m²'],
    [{ room: { bodyCurrentUa: 0.5 }, electrodes: poorGround }, 'imbalance', 0.94, 0.01, '2.5 mV · 6 kΩ / 15.9 MΩ'],
  ] as const;
  it.each(worked)('%j by %s: %d µV', (document, path, expectedUv, toleranceUv, why) => {
    expect(Math.abs(first(document, path) - expectedUv), why).toBeLessThan(toleranceUv);
  });

  it('common mode through a rejection of 110 dB: 2.5 mV leave 8 nV', () => {
    const document = { room: { bodyCurrentUa: 0.5 }, electrodes: { ground: { contactFactor: 1.125 } } };
    expect(first(document, 'rejection')).toBeCloseTo(2500 * 10 ** -5.5, 4);
  });

  it('equal contacts take nothing from body and lead currents, whatever their size', () => {
    for (const contactFactor of [1, 10]) {
      const electrodes = { common: { contactFactor }, ipsilateral: { contactFactor } };
      const document = { room: { bodyCurrentUa: 1, leadCurrentNaPerM: 5 }, electrodes };
      expect(first(document, 'lead')).toBe(0);
      expect(first(document, 'imbalance')).toBe(0);
    }
  });

  const remedies = [
    // what is changed, path, factor, why
    [{ electrodes: { ipsilateral: { contactFactor: 1.25 } } }, 'lead', 1 / 6, 'prepared again: 6 kΩ → 1 kΩ'],
    [{ leads: { loopM2PerM: 0.01 } }, 'loop', 0.2, 'bunched'],
    [{ leads: { preampAtElectrode: true } }, 'loop', 0.05, 'first stage at the head: 0.06 → 0.003 m²'],
    [{ leads: { preampAtElectrode: true } }, 'lead', 0.05, 'and hardly any wire'],
    [{ leads: { preampAtElectrode: true } }, 'imbalance', 0.2, 'and five times the input impedance'],
    [{ leads: { lengthM: 0.6 } }, 'lead', 0.5, 'half the wire'],
    [{ leads: { lengthM: 0.6 } }, 'loop', 0.5, 'half the loop'],
    [{ leads: { shieldFactor: 0.05 } }, 'lead', 0.05, 'shielded against electric fields …'],
    [{ leads: { shieldFactor: 0.05 } }, 'loop', 1, '… not against magnetic ones'],
    [{ electrodes: { ground: { contactFactor: 4.375 } } }, 'imbalance', 4, 'poor ground: 4.5 → 18 kΩ'],
    [{ amplifier: { supply: 'mains' } }, 'imbalance', 0.6 / 0.5, '0.1 µA through the isolation'],
    [{ amplifier: { commonModeRejectionDb: 90 } }, 'rejection', 10, '20 dB less'],
  ] as const;
  it.each(remedies)('%j changes %s by %d', (change, path, factor, why) => {
    const base = {
      room: { bodyCurrentUa: 0.5, leadCurrentNaPerM: 5, fieldUt: 1 },
      electrodes: unequal,
    };
    const { electrodes = {} } = change as { electrodes?: object };
    const changed = { ...base, ...change, electrodes: { ...base.electrodes, ...electrodes } };
    const ratio = first(changed, path) / first(base, path);
    expect(Math.abs(ratio / factor - 1), why).toBeLessThan(0.01); // reactances at 50 Hz
  });

  it('rejection holds to 200 Hz, then the same common mode leaves 6 dB more per octave', () => {
    const scenario = resolveScenario({ room: { bodyCurrentUa: 0.5, bodyHarmonicRatios: Array(12).fill(1) } });
    const [sizesUv] = pickupByPath(scenario)[1].harmonicsUv;
    const ground = contactOf(scenario, 'ground');
    const left = sizesUv.map((uv, h) => uv / sizeOf(impedanceAt(ground, 50 * (h + 1))));
    for (const [h, ratio] of [1, 1, 1, 1, 1.25, 1.5, 1.75, 2, 2.25, 2.5, 2.75, 3].entries()) {
      expect(Math.abs(left[h] / left[0] / ratio - 1)).toBeLessThan(0.005); // the inputs take a little of the current
    }
  });

  it('a loop takes each harmonic of a field in proportion to its frequency', () => {
    const sizes = pathsOf({ room: { fieldUt: 1, fieldHarmonicRatios: [1, 1, 1, 0, 1] } }).loop.harmonicsUv[0];
    const ratios = [1, 2, 3, 0, 5, 0];
    for (const [h, ratio] of ratios.entries()) expect(sizes[h] / sizes[0]).toBeCloseTo(ratio, 9);
  });

  it('lamps are heard at twice the line frequency alone', () => {
    const { harmonicsUv } = pathsOf({ room: { lampFieldUt: 0.1 }, mains: { lineHz: 60 } }).lamp;
    expect(harmonicsUv[0].map((uv) => uv > 0)).toEqual([false, true, ...Array(10).fill(false)]);
    expect(harmonicsUv[0][1]).toBeCloseTo(2 * Math.PI * 120 * 0.1 * 0.06, 9);
  });

  it('an open lead lets millivolts in, where the textbook product would say more than the body has', () => {
    const document = {
      room: { bodyCurrentUa: 0.5, leadCurrentNaPerM: 1 },
      electrodes: { ipsilateral: { open: true } },
    };
    const commonModeUv = 0.5 * 4490;
    expect(first(document, 'imbalance')).toBeGreaterThan(0.9 * commonModeUv);
    expect(first(document, 'imbalance')).toBeLessThan(commonModeUv);
    expect(first(document, 'lead')).toBeGreaterThan(10_000);
  });

  it('says how large the whole path is: the root of the squares of its harmonics', () => {
    const { harmonicsUv, totalUv } = pathsOf({ room: { fieldUt: 0.2 } }).loop;
    expect(totalUv[0]).toBeCloseTo(Math.hypot(...harmonicsUv[0]), 9);
  });
});
