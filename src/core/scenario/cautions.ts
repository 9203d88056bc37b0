import { log, power } from '../elementary.ts';
import { soundMs } from '../response/burst.ts';
import { presentationCount } from '../stimulus/schedule.ts';
import type { Scenario } from './schema.ts';

/** So many sentences hold for every scenario; what follows them is about loud sound. */
export const GENERAL_CAUTION_COUNT = 2;

const LOUD_DB_NHL = 90; // dB nHL, our choice: from here on a session's exposure is counted
const PEAK_LIMIT_DB_SPL = 140; // dB peak SPL, the example of a safe limit in [PA14]; 100 dB nHL stays below it
// dB peak-to-peak equivalent SPL at 0 dB nHL, tube insert earphone, from memory of [ISO389-6]: illustrative.
const CLICK_REFERENCE_DB = 35.5;
const TONE_REFERENCE_DB = [23.5, 21.5, 28.5, 32.5]; // at 0.5, 1, 2, 4 kHz

/**
 * Says in plain sentences what somebody who did this to a person would have to mind.
 *
 * The first two hold for every scenario. From 90 dB nHL on, and for every muscle response of the balance organ, level,
 * ear canal and exposure follow. The exposure is counted as if the bursts were joined to one steady sound:
 *
 *     allowed time = 8 h / 2^((L − 85)/3),   part of it = count · length / allowed time        [NIOSH]
 *
 * Impulsive sound may harm more than this says. Calibration figures are illustrative.
 *
 * @returns sentences, most general first; never empty
 */
export function cautionsFor(scenario: Scenario): string[] {
  const { response, stimulus } = scenario;
  const sentences = [
    'A teaching simulation: it makes no diagnosis, and no recording shown here came from a person.',
    'Your local protocol and the people who answer for it come first.',
  ];
  const vestibular = response.kind === 'cvemp' || response.kind === 'ovemp';
  if (!vestibular && stimulus.levelDbNhl < LOUD_DB_NHL) return sentences;
  if (stimulus.transducer === 'bone') return sentences;

  const levelDbSpl = approximateDbSpl(scenario);
  const peakDbSpl = levelDbSpl + 3; // crest of a sine over its root mean square
  const count = presentationCount(scenario);
  const lengthMs = stimulus.kind === 'modulated-tone' ? 1000 / stimulus.ratePerS : soundMs(stimulus);
  const soundS = (count * lengthMs) / 1000;
  sentences.push(
    `${stimulus.levelDbNhl} dB nHL is loud: about ${Math.round(levelDbSpl)} dB SPL while a sound lasts, ` +
      `${Math.round(peakDbSpl)} dB at its peak; a published guideline names ${PEAK_LIMIT_DB_SPL} dB as a limit. ` +
      'These figures are illustrative until the equipment is checked against the current standard.',
    `This run presents ${count} sounds, ${shortNumber(soundS)} s of sound in all: about ` +
      `${shortNumber((100 * soundS) / allowedExposureS(levelDbSpl))} % of what a day allows at 85 dB(A) for 8 hours. ` +
      'Count both ears, every repeat and what the ear has heard before; sharp sounds may harm more than this sum says.',
    'A small ear canal makes the same setting louder: half the volume, about 6 dB more. Lower the level for children.',
    'Exported sounds are for looking at and must not be listened to at test level.',
  );
  if (vestibular) {
    sentences.push(
      'Loss of hearing has been reported after such sounds. Ask first about tinnitus, oversensitive ears, recent noise ' +
        'and known loss, and stop when the patient asks.',
    );
  }
  return sentences;
}

/** Time for which a day allows a steady sound, s: 8 h at 85 dB, halved by every 3 dB [NIOSH]. @example allowedExposureS(100) // 900 */
export function allowedExposureS(levelDb: number): number {
  return 28800 / power(2, (levelDb - 85) / 3);
}

/** Level while a sound lasts, dB SPL of a steady tone of the same size: reference level plus dB nHL. Illustrative. */
export function approximateDbSpl({ stimulus }: Scenario): number {
  if (stimulus.kind === 'click') return CLICK_REFERENCE_DB + stimulus.levelDbNhl;
  const place = Math.min(3, Math.max(0, log(stimulus.frequencyHz / 500) / log(2)));
  const lower = Math.min(2, Math.floor(place));
  const between = TONE_REFERENCE_DB[lower + 1] - TONE_REFERENCE_DB[lower];
  return TONE_REFERENCE_DB[lower] + (place - lower) * between + stimulus.levelDbNhl;
}

/** Two digits are all that such a figure is worth. */
function shortNumber(value: number): string {
  if (value >= 10) return String(Math.round(value));
  return value >= 1 ? String(Math.round(10 * value) / 10) : String(Math.round(100 * value) / 100);
}
