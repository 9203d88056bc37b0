import { exp, log } from '../elementary.ts';
import type { Scenario } from '../scenario/schema.ts';

const THIRD_WINDOW_DB = 20; // dB, model value: a gap in the bone lets it answer that much earlier
const BEST_FROM_HZ = 400; // Hz, [PA14]: most effective from 400 to 800 Hz
const BEST_TO_HZ = 800;
const DETUNING_DB_PER_OCTAVE = 5; // dB, model value
const CLICK_DETUNING_DB = 5; // dB, model value: a click is a poor stimulus for the balance organ

/**
 * Says by how much the sound exceeds what the balance organ needs, dB; negative where it does not answer.
 *
 *     L − conductive loss − detuning − (threshold − 20 dB with a third window)
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
  const neededDb = vestibular.thresholdDbNhl - (vestibular.thirdWindow ? THIRD_WINDOW_DB : 0);
  return levelDbNhl - lossDb - detuningDb - neededDb;
}

function toneDetuningDb(frequencyHz: number): number {
  const away = frequencyHz < BEST_FROM_HZ ? BEST_FROM_HZ / frequencyHz : frequencyHz / BEST_TO_HZ;
  return away > 1 ? (DETUNING_DB_PER_OCTAVE * log(away)) / log(2) : 0;
}

/** Size of a muscle response at a rate: e^(−(r − 5)/12) above 5/s, 1 below. Model values. */
export function vestibularRateFactor(ratePerS: number): number {
  return exp(-Math.max(0, ratePerS - 5) / 12);
}

/** Years lived after 50: muscle responses change from there on. */
export function yearsAfter50({ patient }: Scenario): number {
  return patient.infant.present ? 0 : Math.max(0, patient.ageYears - 50);
}
