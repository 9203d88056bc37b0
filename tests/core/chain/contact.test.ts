import { describe, expect, it } from 'vitest';
import { contactOf, cornerHzOf, impedanceAt, inputOf, testContacts } from '../../../src/core/chain/contact.ts';
import { sizeOf } from '../../../src/core/complex.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';

const contact = (keys: object, lost = false) =>
  contactOf(resolveScenario({ electrodes: { ipsilateral: keys } }), 'ipsilateral', lost);

describe('contactOf', () => {
  const cases = [
    // keys, R_p in ohm, C_p in farad, why
    [{}, 4000, 40e-9, 'disc on well prepared skin'],
    [{ type: 'canal' }, 15_000, 10e-9, 'foil in the canal'],
    [{ contactFactor: 5 }, 20_000, 8e-9, 'five times the layer'],
    [{ type: 'canal', contactFactor: 2 }, 30_000, 5e-9, 'both'],
  ] as const;
  it.each(cases)('%j: %d Ω beside %d F', (keys, parallelOhm, parallelFarad, why) => {
    const model = contact(keys);
    expect(model.seriesOhm, why).toBe(500);
    expect(model.parallelOhm).toBeCloseTo(parallelOhm, 9);
    expect(model.parallelFarad).toBeCloseTo(parallelFarad, 18);
  });

  it('has twenty times the resistance while the contact is nearly lost, at the same corner', () => {
    expect(contact({}, true).parallelOhm).toBe(80_000);
    expect(cornerHzOf(contact({}, true))).toBeCloseTo(cornerHzOf(contact({})), 9);
  });

  it('an open lead has megohms at every frequency of interest, lost or not', () => {
    for (const lost of [false, true]) {
      expect(sizeOf(impedanceAt(contact({ open: true }, lost), 3000))).toBeGreaterThan(1e7);
    }
  });
});

describe('impedanceAt', () => {
  const model = contact({});

  it('is R_s + R_p at rest, R_s at the top, half of R_p real at the corner', () => {
    expect(impedanceAt(model, 0).re).toBe(4500);
    expect(impedanceAt(model, 1e9).re).toBeCloseTo(500, 6);
    const { re, im } = impedanceAt(model, cornerHzOf(model));
    expect(re).toBeCloseTo(500 + 2000, 6);
    expect(im).toBeCloseTo(-2000, 6);
  });

  it('agrees with the admittances added up', () => {
    const hz = 317;
    const susceptance = 2 * Math.PI * hz * 40e-9;
    const conductance = 1 / 4000;
    const power = conductance ** 2 + susceptance ** 2;
    expect(impedanceAt(model, hz).re).toBeCloseTo(500 + conductance / power, 8);
    expect(impedanceAt(model, hz).im).toBeCloseTo(-susceptance / power, 8);
  });
});

describe('testContacts', () => {
  it('reads |Z| at 20 Hz of all four electrodes', () => {
    const tested = testContacts(
      resolveScenario({ electrodes: { ipsilateral: { contactFactor: 4 }, contralateral: { open: true } } }),
    );
    expect(tested.map(({ electrode }) => electrode)).toEqual(['common', 'ipsilateral', 'contralateral', 'ground']);
    expect(tested[0].testedKohm).toBeCloseTo(4.499, 3);
    expect(tested[1].testedKohm).toBeCloseTo(16.497, 2);
    expect(tested[2].testedKohm).toBe(Infinity);
  });

  it('is not what makes noise: at 1500 Hz the real part is less than half of the tested figure', () => {
    const scenario = resolveScenario({});
    const [{ testedKohm }] = testContacts(scenario);
    expect(impedanceAt(contactOf(scenario, 'common'), 1500).re).toBeLessThan(500 * testedKohm);
  });
});

it('inputOf: 200 pF beside 1 GΩ are 16 MΩ at 50 Hz; at the electrode five times that', () => {
  const far = inputOf(resolveScenario({}));
  const near = inputOf(resolveScenario({ leads: { preampAtElectrode: true } }));
  expect(sizeOf(impedanceAt(far, 50)) / 1e6).toBeCloseTo(15.9, 1);
  expect(sizeOf(impedanceAt(near, 50)) / sizeOf(impedanceAt(far, 50))).toBeCloseTo(5, 9);
});
