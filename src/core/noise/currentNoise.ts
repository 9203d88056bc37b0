import { cornerHzOf, type Impedance } from '../chain/contact.ts';
import { contactNoise, type SteppedSpectrum } from './contactNoise.ts';
import type { NoiseSource } from './noiseSource.ts';

/**
 * One-sided density of the voltage that a white noise current makes in a contact, µV²/Hz.
 *
 *     S(f) = i²·|Z(f)|² = i²·[R_s² + ((R_s + R_p)² − R_s²)/(1 + (f/f_c)²)]
 */
function currentSpectrum(impedance: Impedance, currentFaPerRtHz: number): SteppedSpectrum {
  const uvPerOhm = currentFaPerRtHz * 1e-9; // fA·Ω = 10⁻⁹ µV
  const { seriesOhm, parallelOhm } = impedance;
  const flat = uvPerOhm * seriesOhm * (uvPerOhm * seriesOhm);
  const whole = uvPerOhm * (seriesOhm + parallelOhm);
  return { flat, low: whole * whole - flat, cornerHz: cornerHzOf(impedance) };
}

/**
 * Current noise of the first stage: it flows through the contacts and is heard as their impedance lets it.
 *
 *     S(f) = i²·{|Z₊(f)|² + |Z₋(f)|²}
 *
 * Nothing to speak of with good contacts; with a lead that hangs in the air it is the loudest thing there is. Assumes
 * white current, one source for each electrode. Stream: 'current/contact', by electrode; 'electrodes/loss' read only.
 */
export const currentNoise: NoiseSource = {
  id: 'current',
  label: 'Amplifier current noise',
  beyondContacts: true,
  create(scenario, seed) {
    const { currentNoiseFaPerRtHz } = scenario.amplifier;
    if (currentNoiseFaPerRtHz === 0) return null;
    return contactNoise(scenario, seed, 'current/contact', (impedance) =>
      currentSpectrum(impedance, currentNoiseFaPerRtHz),
    );
  },
};
