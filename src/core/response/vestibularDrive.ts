import { exp, log } from '../elementary.ts';
import type { Scenario } from '../scenario/schema.ts';

const THIRD_WINDOW_DB = 20; // dB, model value: a gap in the bone lets it answer that much earlier
const WINDOW_OPEN_TO_HZ = 1000; // Hz, model value: up to here the gap carries the sound whole
const WINDOW_LOSS_DB_PER_OCTAVE = 8; // dB, model value: so that 47 % of such eyes exceed 3.1 µV at 4 kHz (E37)
const BEST_FROM_HZ = 400; // Hz, [PA14]: most effective from 400 to 800 Hz
const BEST_TO_HZ = 800;
const DETUNING_DB_PER_OCTAVE = 5; // dB, model value
const CLICK_DETUNING_DB = 5; // dB, model value: a click is a poor stimulus for the balance organ

/**
 * Says by how much the sound exceeds what the balance organ needs, dB; negative where it does not answer.
 *
 *     L − conductive loss − detuning − (threshold − gain of a third window)
 *     gain = 20 dB up to 1 kHz and for a click, 8 dB per octave less above, at least 0
 *
 * The cochlea has no part in it. A conductive loss blocks the way through the air, except with a third window, whose
 * own conductive loss is not one of the middle ear.
 *
 * @example vestibularDriveDb(resolveScenario({ response: { kind: 'cvemp' } })) // 15
 */
export function vestibularDriveDb({ stimulus, hearing, vestibular }: Scenario): number {
  const { kind, frequencyHz, levelDbNhl, transducer } = stimulus;
  const lossDb = transducer === 'bone' ? 0 : hearing.conductiveDb;
  const detuningDb = kind === 'click' ? CLICK_DETUNING_DB : toneDetuningDb(frequencyHz);
  const windowDb = vestibular.thirdWindow ? (kind === 'click' ? THIRD_WINDOW_DB : windowGainDb(frequencyHz)) : 0;
  const neededDb = vestibular.thresholdDbNhl - windowDb;
  return levelDbNhl - lossDb - detuningDb - neededDb;
}

function toneDetuningDb(frequencyHz: number): number {
  const away = frequencyHz < BEST_FROM_HZ ? BEST_FROM_HZ / frequencyHz : frequencyHz / BEST_TO_HZ;
  return away > 1 ? (DETUNING_DB_PER_OCTAVE * log(away)) / log(2) : 0;
}

/** What a gap in the bone adds: sound leaks in through it as long as the wave is long, model value. */
function windowGainDb(frequencyHz: number): number {
  if (frequencyHz <= WINDOW_OPEN_TO_HZ) return THIRD_WINDOW_DB;
  return Math.max(0, THIRD_WINDOW_DB - (WINDOW_LOSS_DB_PER_OCTAVE * log(frequencyHz / WINDOW_OPEN_TO_HZ)) / log(2));
}

/** Size of a muscle response at a rate: e^(−(r − 5)/12) above 5/s, 1 below. Model values. */
export function vestibularRateFactor(ratePerS: number): number {
  return exp(-Math.max(0, ratePerS - 5) / 12);
}

/** Years lived after 50: muscle responses change from there on. */
export function yearsAfter50({ patient }: Scenario): number {
  return patient.infant.present ? 0 : Math.max(0, patient.ageYears - 50);
}
