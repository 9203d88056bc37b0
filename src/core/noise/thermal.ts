import type { Impedance } from '../chain/contact.ts';
import { cornerHzOf } from '../chain/contact.ts';
import { contactNoise, type SteppedSpectrum } from './contactNoise.ts';
import type { NoiseSource } from './noiseSource.ts';

const BOLTZMANN = 1.380649e-23; // J/K, exact by definition of the SI
const TEMPERATURE_K = 300; // K, our choice: between room and skin; the root of 310/300 is 2 %

/**
 * One-sided density of the thermal noise of a contact, µV²/Hz.
 *
 *     S(f) = 4kT·Re Z(f) = 4kT·[R_s + R_p/(1 + (f/f_c)²)]
 */
function thermalSpectrum(impedance: Impedance): SteppedSpectrum {
  const perOhm = 4 * BOLTZMANN * TEMPERATURE_K * 1e12;
  return {
    flat: perOhm * impedance.seriesOhm,
    low: perOhm * impedance.parallelOhm,
    cornerHz: cornerHzOf(impedance),
  };
}

/**
 * Thermal noise of the contacts: what their resistance makes by being warm.
 *
 *     S(f) = 4kT·Re{Z₊(f) + Z₋(f)}
 *
 * It follows Re Z(f), which falls above 1 kHz, and not the number of the impedance test at 20 Hz. The ground electrode
 * is in no channel. Stream: 'thermal/contact', by electrode; 'electrodes/loss' read only.
 */
export const thermal: NoiseSource = {
  id: 'thermal',
  label: 'Thermal noise of the contacts',
  beyondContacts: true,
  create(scenario, seed) {
    if (!scenario.electrodes.thermalNoise) return null;
    return contactNoise(scenario, seed, 'thermal/contact', thermalSpectrum);
  },
};
