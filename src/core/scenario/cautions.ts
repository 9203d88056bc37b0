import { log, power } from '../elementary.ts';
import { soundMs } from '../response/burst.ts';
import { beatS, presentationCount } from '../stimulus/schedule.ts';
import { scenarioStages } from './resolve.ts';
import type { Scenario } from './schema.ts';

/** So many sentences hold for every scenario; what follows them is about loud sound. */
const GENERAL_CAUTION_COUNT = 2;

const LOUD_DB_NHL = 90; // dB nHL, our choice: from here on a session's exposure is counted
const LOUD_MASKING_DB = 80; // dB of masking, our choice: a steady noise counts from a lower level than single sounds
const PEAK_LIMIT_DB_SPL = 140; // dB peak SPL, the example of a safe limit in [PA14]; 100 dB nHL stays below it
// dB peak-to-peak equivalent SPL at 0 dB nHL, tube insert earphone, from memory of [ISO389-6]: illustrative.
const CLICK_REFERENCE_DB = 35.5;
const TONE_REFERENCE_DB = [23.5, 21.5, 28.5, 32.5]; // at 0.5, 1, 2, 4 kHz
// dB SPL of a broad noise that lifts a threshold to 0 dB HL, from memory: illustrative.
const MASKING_REFERENCE_DB = 15;

/**
 * Says in plain sentences what somebody who did this to a person would have to mind.
 *
 * The first two hold for every scenario. From 90 dB nHL on at any time of the session, and for every muscle response of
 * the balance organ, level, ear canal and exposure follow: for the loudest sound that comes through the air, events
 * included. The exposure is counted as if the bursts were joined to one steady sound, stage by stage:
 *
 *     allowed time = 8 h / 2^((L − 85)/3),   part of a day = Σ count · length / allowed time        [NIOSH]
 *
 * Masking noise in the other ear is counted in the same way from 80 dB on: it lasts as long as the session, rests and
 * pauses included.
 *
 * Sounds that an event mutes are counted all the same: the sum errs on the side of the ear. Impulsive sound may harm
 * more than this says. Calibration figures are illustrative.
 *
 * @returns sentences, most general first; never empty
 */
export function cautionsFor(scenario: Scenario): string[] {
  const sentences = [
    'A teaching simulation: it makes no diagnosis, and no simulated recording came from a person.',
    'Your local protocol and the people who answer for it come first.',
  ];
  const stretches = exposures(scenario);
  const loudest = loudStimulus(scenario, stretches);
  if (loudest !== null) sentences.push(...aboutSound(stretches, loudest));
  const masking = aboutMasking(scenario);
  if (masking !== null) sentences.push(masking);
  if (sentences.length === GENERAL_CAUTION_COUNT) return sentences;
  sentences.push(
    'A small ear canal makes the same setting louder: half the volume, about 6 dB more. Lower the level for children.',
    'The lab makes no sound and saves none; a sound made elsewhere from these settings must not be listened to at test level.',
  );
  if (loudest !== null && isVestibular(scenario)) {
    sentences.push(
      'Loss of hearing has been reported after such sounds. Ask first about tinnitus, oversensitive ears, recent noise ' +
        'and known loss, and stop when the patient asks.',
    );
  }
  return sentences;
}

/** Level and exposure of the stimulus. */
function aboutSound(stretches: readonly Exposure[], { levelDbNhl, levelDbSpl }: Exposure): string[] {
  const peakDbSpl = levelDbSpl + 3; // crest of a sine over its root mean square
  const count = stretches.reduce((sum, stretch) => sum + stretch.count, 0);
  const soundS = stretches.reduce((sum, stretch) => sum + stretch.soundS, 0);
  const share = stretches.reduce((sum, stretch) => sum + stretch.soundS / allowedExposureS(stretch.levelDbSpl), 0);
  const steady = stretches.every((stretch) => stretch.levelDbNhl === levelDbNhl);
  return [
    `${levelDbNhl} dB nHL${steady ? '' : ', the loudest of this run,'} is loud: about ${Math.round(levelDbSpl)} dB SPL ` +
      `while a sound lasts, ${Math.round(peakDbSpl)} dB at its peak; a published guideline names ${PEAK_LIMIT_DB_SPL} ` +
      'dB as a limit. These figures are illustrative until the equipment is checked against the current standard.',
    `This run presents ${count} sounds, ${shortNumber(soundS)} s of sound in all: about ${shortNumber(100 * share)} % ` +
      'of what a day allows at 85 dB(A) for 8 hours. ' +
      'Count both ears, every repeat and what the ear has heard before; sharp sounds may harm more than this sum says.',
  ];
}

/** Level and exposure of the noise in the other ear, where it is loud at any time; otherwise null. */
function aboutMasking(scenario: Scenario): string | null {
  const stretches = maskedStretches(scenario);
  const levelDb = Math.max(...stretches.map((stretch) => stretch.levelDb));
  if (!(levelDb >= LOUD_MASKING_DB)) return null;
  const soundS = stretches.reduce((sum, stretch) => sum + stretch.lengthS, 0);
  const share = stretches.reduce(
    (sum, stretch) => sum + stretch.lengthS / allowedExposureS(MASKING_REFERENCE_DB + stretch.levelDb),
    0,
  );
  const steady = stretches.every((stretch) => stretch.levelDb === levelDb);
  return (
    `Masking by ${levelDb} dB${steady ? '' : ', the most of this run,'} is loud: a noise of about ` +
    `${MASKING_REFERENCE_DB + levelDb} dB SPL in the other ear without a break, ${shortNumber(soundS)} s in all: about ` +
    `${shortNumber(100 * share)} % of what a day allows that ear. Illustrative as well; mask no more than is needed.`
  );
}

/** Stretches of the session with masking noise. */
function maskedStretches(scenario: Scenario): { levelDb: number; lengthS: number }[] {
  const stages = scenario.events.length > 0 ? scenarioStages(scenario) : [{ fromS: 0, scenario }];
  const endS = beatS(scenario, presentationCount(scenario));
  return stages
    .map(({ fromS, scenario: stage }, k) => {
      const toS = k + 1 < stages.length ? Math.min(stages[k + 1].fromS, endS) : endS;
      return { levelDb: stage.stimulus.maskingDb, lengthS: toS - Math.max(0, fromS) };
    })
    .filter(({ levelDb, lengthS }) => levelDb > 0 && lengthS > 0);
}

/** Level of the loudest sound that the ear canal gets at any time of a session, dB nHL; null if it gets none. */
export function loudestDbNhl(scenario: Scenario): number | null {
  return loudestOf(exposures(scenario))?.levelDbNhl ?? null;
}

/**
 * Names what is loud in a session, in a few words for a headline: the stimulus if its level counts, else the masking.
 *
 * @returns null if nothing is   @example loudPart(resolveScenario({ stimulus: { levelDbNhl: 95 } })) // '95 dB nHL'
 */
export function loudPart(scenario: Scenario): string | null {
  const loudest = loudStimulus(scenario, exposures(scenario));
  if (loudest !== null) return `${loudest.levelDbNhl} dB nHL`;
  const levelDb = Math.max(...maskedStretches(scenario).map((stretch) => stretch.levelDb));
  return levelDb >= LOUD_MASKING_DB ? `masking by ${levelDb} dB` : null;
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

/** The loudest sound of a session whose exposure is counted; null if it is not. */
function loudStimulus(scenario: Scenario, stretches: readonly Exposure[]): Exposure | null {
  const counts = isVestibular(scenario) || stretches.some(({ levelDbNhl }) => levelDbNhl >= LOUD_DB_NHL);
  return counts ? loudestOf(stretches) : null;
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
