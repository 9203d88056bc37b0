import { log } from '../elementary.ts';
import type { Scenario } from '../scenario/schema.ts';

/** An ear that hears a sound. */
export interface HeardEar {
  side: 'test' | 'far';
  /** Level at which a normal ear would answer like this one, dB nHL; below 0 nothing is heard. */
  levelDbNhl: number;
}

const INTERAURAL_ATTENUATION_DB = { insert: 60, 'supra-aural': 40, bone: 0 }; // dB, model values
const AUDIOGRAM_LOWEST_HZ = 500;
const RECRUITED_DB = 90; // dB nHL, model value: from here on a loud sound is as loud as for a normal ear
const UNHEARD_DB = -100;

/**
 * Says which ears hear the sound of a scenario, and as how loud.
 *
 *     test ear:  L − conductive loss (not through the bone), then recruitment above the threshold θ of its cochlea
 *     far ear:   L − interaural attenuation, then recruitment above max(threshold of the far ear, masking M)
 *     recruitment:  90·(L − θ)/(90 − θ) for θ < L < 90;  L from 90 on;  unheard up to θ
 *
 * Masking that is louder than the attenuation comes back over the head and lifts the test ear to M − attenuation. The
 * two ears are separate unless `hearing.crossHearing` is set. Attenuation is taken to be the same at every frequency.
 *
 * @returns the ears that hear it, the test ear first   @example heardEars(resolveScenario({}))[0].levelDbNhl // 75
 */
export function heardEars(scenario: Scenario): HeardEar[] {
  const { levelDbNhl, transducer, maskingDb } = scenario.stimulus;
  const { conductiveDb, crossHearing, farThresholdDbHl } = scenario.hearing;
  const attenuationDb = INTERAURAL_ATTENUATION_DB[transducer];
  const overMaskingDb = crossHearing && maskingDb > 0 ? maskingDb - attenuationDb : 0;
  const ears: HeardEar[] = [
    {
      side: 'test',
      levelDbNhl: recruitedDb(
        levelDbNhl - (transducer === 'bone' ? 0 : conductiveDb),
        Math.max(cochlearThresholdDb(scenario), overMaskingDb),
      ),
    },
  ];
  if (crossHearing) {
    ears.push({
      side: 'far',
      levelDbNhl: recruitedDb(levelDbNhl - attenuationDb, Math.max(farThresholdDbHl, maskingDb)),
    });
  }
  return ears.filter((ear) => ear.levelDbNhl >= 0);
}

/** Level of the loudest ear, dB nHL, for responses that need no ear of their own; null if no ear hears the sound. */
export function loudestEarDb(scenario: Scenario): number | null {
  const levels = heardEars(scenario).map((ear) => ear.levelDbNhl);
  return levels.length > 0 ? Math.max(...levels) : null;
}

/** Threshold of the test cochlea for the stimulus: mean of 2 and 4 kHz for a click, its own frequency for a tone. */
export function cochlearThresholdDb(scenario: Scenario): number {
  const { kind, frequencyHz } = scenario.stimulus;
  const thresholdsDb = scenario.hearing.thresholdsDbHl;
  if (kind === 'click') return (thresholdsDb[2] + thresholdsDb[3]) / 2;
  const octaves = log(frequencyHz / AUDIOGRAM_LOWEST_HZ) / log(2);
  const place = Math.min(thresholdsDb.length - 1, Math.max(0, octaves));
  const lower = Math.min(thresholdsDb.length - 2, Math.floor(place));
  return thresholdsDb[lower] + (place - lower) * (thresholdsDb[lower + 1] - thresholdsDb[lower]);
}

function recruitedDb(levelDb: number, thresholdDb: number): number {
  if (thresholdDb <= 0) return levelDb;
  if (levelDb <= thresholdDb) return UNHEARD_DB;
  if (levelDb >= RECRUITED_DB) return thresholdDb < RECRUITED_DB ? levelDb : levelDb - thresholdDb;
  return (RECRUITED_DB * (levelDb - thresholdDb)) / (RECRUITED_DB - thresholdDb);
}
