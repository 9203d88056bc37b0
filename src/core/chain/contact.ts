import { type Complex, sizeOf } from '../complex.ts';
import { PI } from '../elementary.ts';
import type { Scenario } from '../scenario/schema.ts';

/** The electrodes of a montage. */
export const electrodeNames = ['common', 'ipsilateral', 'contralateral', 'ground'] as const;
export type ElectrodeName = (typeof electrodeNames)[number];

/** A resistance in series with a resistance and a capacitance side by side: R_s + R_p ∥ C_p. */
export interface Impedance {
  seriesOhm: number;
  parallelOhm: number;
  parallelFarad: number;
}

// Model values of a well prepared contact; membrane and needle are our choice. All have their corner near 1 kHz.
const WELL_PREPARED: Record<Scenario['electrodes']['ipsilateral']['type'], Impedance> = {
  surface: { seriesOhm: 500, parallelOhm: 4000, parallelFarad: 40e-9 },
  canal: { seriesOhm: 500, parallelOhm: 15_000, parallelFarad: 10e-9 },
  membrane: { seriesOhm: 500, parallelOhm: 20_000, parallelFarad: 8e-9 },
  needle: { seriesOhm: 500, parallelOhm: 6000, parallelFarad: 26e-9 },
};

// A lead that hangs in the air beside the head: a few picofarad and nothing else. Our choice.
const OPEN: Impedance = { seriesOhm: 0, parallelOhm: 1e10, parallelFarad: 5e-12 };

const TEST_HZ = 20; // impedance tests run at 10 to 30 Hz: common practice, no source

const PREAMP_INPUT_FACTOR = 5; // model value: no cable loads the input of a first stage at the electrode

/**
 * Says what a contact is electrically.
 *
 *     R_p · k,   C_p / k          k = contactFactor, times lossFactor while the contact is nearly lost
 *
 * R_p and C_p go together as those of a dead skin layer that is k times as thick, or of a k-th of the area; R_s is the
 * tissue below and stays (our choice).
 *
 * @param electrode - which   @param lost - true while the contact is nearly lost
 * @example contactOf(resolveScenario({}), 'common').parallelOhm // 4000
 */
export function contactOf({ electrodes }: Pick<Scenario, 'electrodes'>, electrode: ElectrodeName, lost = false) {
  const { type, contactFactor, open } = electrodes[electrode];
  if (open) return OPEN;
  const { seriesOhm, parallelOhm, parallelFarad } = WELL_PREPARED[type];
  const factor = contactFactor * (lost ? electrodes.lossFactor : 1);
  return { seriesOhm, parallelOhm: parallelOhm * factor, parallelFarad: parallelFarad / factor };
}

/**
 * Says what one input of the amplifier is electrically against its own ground: 200 pF beside 1 GΩ by default.
 *
 * A first stage at the electrode has five times that, since no cable loads it.
 */
export function inputOf({ amplifier, leads }: Pick<Scenario, 'amplifier' | 'leads'>): Impedance {
  const factor = leads.preampAtElectrode ? PREAMP_INPUT_FACTOR : 1;
  return {
    seriesOhm: 0,
    parallelOhm: amplifier.inputMohm * 1e6 * factor,
    parallelFarad: (amplifier.inputPf * 1e-12) / factor,
  };
}

/** The frequency at which the parallel resistance and capacitance carry the same current, 1/(2π·R_p·C_p), Hz. */
export function cornerHzOf({ parallelOhm, parallelFarad }: Impedance): number {
  return 1 / (2 * PI * parallelOhm * parallelFarad);
}

/**
 * Returns the impedance at a frequency.
 *
 *     Z(f) = R_s + R_p/(1 + j·f/f_c)
 *
 * @returns ohm   @example impedanceAt(contactOf(resolveScenario({}), 'common'), 0) // { re: 4500, im: -0 }
 */
export function impedanceAt(impedance: Impedance, hz: number): Complex {
  const ratio = hz / cornerHzOf(impedance);
  const share = impedance.parallelOhm / (1 + ratio * ratio);
  return { re: impedance.seriesOhm + share, im: -share * ratio };
}

/** One line of an impedance test. */
export interface TestedContact {
  electrode: ElectrodeName;
  /** What a meter at 20 Hz reads, kΩ; Infinity for an open lead. */
  testedKohm: number;
}

/**
 * Tests every electrode, as a meter does before the session: |Z| at 20 Hz, not what makes noise in the pass band.
 *
 * @example testContacts(resolveScenario({}))[0].testedKohm // 4.498…
 */
export function testContacts(scenario: Scenario): TestedContact[] {
  return electrodeNames.map((electrode) => ({
    electrode,
    testedKohm: scenario.electrodes[electrode].open
      ? Infinity
      : sizeOf(impedanceAt(contactOf(scenario, electrode), TEST_HZ)) / 1000,
  }));
}
