import { log, power } from '../elementary.ts';
import { soundMs } from '../response/burst.ts';
import { beatS, presentationCount } from '../stimulus/schedule.ts';
import { scenarioStages } from './resolve.ts';
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
 * The first two hold for every scenario. From 90 dB nHL on at any time of the session, and for every muscle response of
 * the balance organ, level, ear canal and exposure follow: for the loudest sound that comes through the air, events
 * included. The exposure is counted as if the bursts were joined to one steady sound, stage by stage:
 *
 *     allowed time = 8 h / 2^((L − 85)/3),   part of a day = Σ count · length / allowed time        [NIOSH]
 *
 * Sounds that an event mutes are counted all the same: the sum errs on the side of the ear. Impulsive sound may harm
 * more than this says. Calibration figures are illustrative.
 *
 * @returns sentences, most general first; never empty
 */
export function cautionsFor(scenario: Scenario): string[] {
  const sentences = [
    'A teaching simulation: it makes no diagnosis, and no recording shown here came from a person.',
    'Your local protocol and the people who answer for it come first.',
  ];
  const vestibular = isVestibular(scenario);
  const stretches = exposures(scenario);
  const loudest = loudestOf(stretches);
  if (loudest === null || !(vestibular || stretches.some(({ levelDbNhl }) => levelDbNhl >= LOUD_DB_NHL))) {
    return sentences;
  }
  const { levelDbNhl, levelDbSpl } = loudest;
  const peakDbSpl = levelDbSpl + 3; // crest of a sine over its root mean square
  const count = stretches.reduce((sum, stretch) => sum + stretch.count, 0);
  const soundS = stretches.reduce((sum, stretch) => sum + stretch.soundS, 0);
  const share = stretches.reduce((sum, stretch) => sum + stretch.soundS / allowedExposureS(stretch.levelDbSpl), 0);
  const steady = stretches.every((stretch) => stretch.levelDbNhl === levelDbNhl);
  sentences.push(
    `${levelDbNhl} dB nHL${steady ? '' : ', the loudest of this run,'} is loud: about ${Math.round(levelDbSpl)} dB SPL ` +
      `while a sound lasts, ${Math.round(peakDbSpl)} dB at its peak; a published guideline names ${PEAK_LIMIT_DB_SPL} ` +
      'dB as a limit. These figures are illustrative until the equipment is checked against the current standard.',
    `This run presents ${count} sounds, ${shortNumber(soundS)} s of sound in all: about ${shortNumber(100 * share)} % ` +
      'of what a day allows at 85 dB(A) for 8 hours. ' +
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

/** Level of the loudest sound that the ear canal gets at any time of a session, dB nHL; null if it gets none. */
export function loudestDbNhl(scenario: Scenario): number | null {
  return loudestOf(exposures(scenario))?.levelDbNhl ?? null;
}

/** Sounds of one setting that come through the air. */
interface Exposure {
  levelDbNhl: number;
  levelDbSpl: number;
  count: number;
  soundS: number;
}

/** What the ear canal gets, stage by stage; stages without a sound, or with a vibrator on the bone, are left out. */
function exposures(scenario: Scenario): Exposure[] {
  const stages = scenario.events.length > 0 ? scenarioStages(scenario) : [{ fromS: -Infinity, scenario }];
  const total = presentationCount(scenario);
  let begun = 0;
  return stages
    .map(({ scenario: stage }, k): Exposure & { isAir: boolean } => {
      const endS = k + 1 < stages.length ? stages[k + 1].fromS : Infinity;
      const first = begun;
      begun = endS === Infinity ? total : firstBeatFrom(scenario, first, total, endS);
      const { stimulus } = stage;
      const lengthMs = stimulus.kind === 'modulated-tone' ? 1000 / stimulus.ratePerS : soundMs(stimulus);
      const count = begun - first;
      const soundS = (count * lengthMs) / 1000;
      const isAir = stimulus.transducer !== 'bone';
      return { levelDbNhl: stimulus.levelDbNhl, levelDbSpl: approximateDbSpl(stage), count, soundS, isAir };
    })
    .filter(({ count, isAir }) => count > 0 && isAir);
}

/** Number of the first stimulus in [from, to) that comes at a time or later; `to` if none does. Beats come in order. */
function firstBeatFrom(scenario: Scenario, from: number, to: number, timeS: number): number {
  let low = from;
  let high = to;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (beatS(scenario, middle) >= timeS - 1e-9) high = middle;
    else low = middle + 1;
  }
  return low;
}

function loudestOf(stretches: readonly Exposure[]): Exposure | null {
  return stretches.reduce<Exposure | null>(
    (loudest, stretch) => (loudest && loudest.levelDbSpl >= stretch.levelDbSpl ? loudest : stretch),
    null,
  );
}

function isVestibular({ response }: Scenario): boolean {
  return response.kind === 'cvemp' || response.kind === 'ovemp';
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
