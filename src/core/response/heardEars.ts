import { log } from '../elementary.ts';
import type { Scenario } from '../scenario/schema.ts';

/** An ear that hears a sound. */
export interface HeardEar {
  side: 'test' | 'far';
  /** Level at which a normal ear would answer as large as this one, dB nHL; below 0 nothing is heard. */
  levelDbNhl: number;
  /** Level at which a normal ear would answer as early as this one, dB nHL. */
  timingDbNhl: number;
}

const INTERAURAL_ATTENUATION_DB = { insert: 60, 'supra-aural': 40, bone: 0 }; // dB, model values
const AUDIOGRAM_LOWEST_HZ = 500;
const RECRUITED_DB = 90; // dB nHL, model value: from here on a loud sound is as loud as for a normal ear
const SHORTEST_RANGE_DB = 30; // dB, model value: a severe loss leaves at least this much between threshold and loud
const UNHEARD_DB = -100;
const LATE_SHARE = 0.2; // of what recruitment still lacks: keeps wave V within 0.4 ms of normal near a flat loss (C24)

/**
 * Says which ears hear the sound of a scenario, and as how loud.
 *
 *     test ear:  L − conductive loss (not through the bone), then recruitment above the threshold θ of its cochlea
 *     far ear:   L − interaural attenuation, then recruitment above max(threshold of the far ear, masking M)
 *     recruitment:  size as at  x + θ·(x/X)^2.5,  x = L − θ,  X = 90 − θ and at least 30 dB;  L from θ + X on;  unheard up to θ
 *                   time as at  L − 0.2·(L − size):  a flat loss is hardly late, because loud sounds travel to the same place
 *
 * So a sound just above the threshold grows as slowly as in a normal ear, and ever faster from there.
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
      ...recruited(
        levelDbNhl - (transducer === 'bone' ? 0 : conductiveDb),
        Math.max(cochlearThresholdDb(scenario), overMaskingDb),
      ),
    },
  ];
  if (crossHearing) {
    ears.push({
      side: 'far',
      ...recruited(levelDbNhl - attenuationDb, Math.max(farThresholdDbHl, maskingDb)),
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

/**
 * Levels at which a normal ear would answer as large, and as early, as one with a cochlear threshold.
 *
 *     size = x + θ·(x/X)^2.5,  x = L − θ ≥ 0,  X = max(90 − θ, 30 dB);  L where x ≥ X
 *     time = L − 0.2·(L − size)
 *
 * Continuous in L and θ. Assumes a loss that is flat around the place of the sound. Model values; −100 dB where nothing is
 * heard.
 *
 * @param levelDb - L, dB nHL   @param thresholdDb - θ, dB HL   @example recruited(60, 50).levelDbNhl // 13.1
 */
export function recruited(levelDb: number, thresholdDb: number): { levelDbNhl: number; timingDbNhl: number } {
  if (thresholdDb <= 0) return { levelDbNhl: levelDb, timingDbNhl: levelDb };
  const aboveDb = levelDb - thresholdDb;
  if (!(aboveDb > 0)) return { levelDbNhl: UNHEARD_DB, timingDbNhl: UNHEARD_DB };
  const share = Math.min(1, aboveDb / Math.max(RECRUITED_DB - thresholdDb, SHORTEST_RANGE_DB));
  const sizeDb = aboveDb + thresholdDb * share * share * Math.sqrt(share);
  return { levelDbNhl: sizeDb, timingDbNhl: levelDb - LATE_SHARE * (levelDb - sizeDb) };
}
