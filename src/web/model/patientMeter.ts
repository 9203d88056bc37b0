import { meanQuietS } from '../../core/noise/child.ts';
import { neckFatigue } from '../../core/response/contraction.ts';
import { activityUv } from './deskReading.ts';
import { scenarioAt } from './handsOn.ts';
import { secondsText, voltageText } from './numberText.ts';
import type { RunRecord } from './runRecord.ts';

/** Something that the patient has to keep up, as a meter would show it. */
export interface PatientMeter {
  name: string;
  text: string;
  /** Filled part of the gauge and the place of the goal on it, 0 … 1. */
  share: number;
  goal: number;
  title: string;
  /** Taken from the model: no sensor shows it, and it would tell what a lesson keeps out of sight. */
  ofModel: boolean;
}

const RECENT_SWEEPS = 5; // a mean over about a second: steadier could not be watched
const STILL_S = 20; // s: a restless spell or two
const ROOM = 1.5; // the gauge ends at one and a half times the goal
const FATIGUE_STEP_S = 0.05; // s: far below the time in which a neck tires or rests

/**
 * The meters of what the patient has to keep up: contraction and stamina of the neck, upward gaze, stillness and
 * patience of a child; none for a patient who only has to lie there.
 *
 * Contraction, gaze and stillness are what electrodes and sensors show. Stamina and patience are what an experienced
 * eye would say, taken from the model: how much of a fresh neck is left, and how long a quiet spell lasts by now.
 */
export function patientMeters(record: RunRecord): PatientMeter[] {
  const { scenario } = record;
  const { kind } = scenario.response;
  return [
    ...(kind === 'cvemp' ? [effort(record), stamina(record)] : []),
    ...(kind === 'ovemp' ? [gaze(record)] : []),
    ...(scenario.child.present ? [stillness(record), patience(record)] : []),
  ];
}

function effort(record: RunRecord): PatientMeter {
  const goalUv = record.scenario.contraction.meanRectifiedUv;
  const nowUv = activityUv(record, record.offeredCount - 1, RECENT_SWEEPS);
  const title = `mean rectified activity of the neck before the last ${RECENT_SWEEPS} sounds; goal ${voltageText(goalUv)}`;
  return { name: 'effort', text: voltageText(nowUv), ...gauge(nowUv, goalUv), title, ofModel: false };
}

function stamina(record: RunRecord): PatientMeter {
  const left = Math.exp(-fatigueNow(record));
  const title = 'what is left of a fresh neck: a rest, or the head laid down, brings it back';
  return { name: 'stamina', text: percent(left), share: left, goal: 1, title, ofModel: true };
}

function gaze(record: RunRecord): PatientMeter {
  const { targetDeg } = record.scenario.gaze;
  const nowDeg = record.offeredCount > 0 ? record.gazeDeg[record.offeredCount - 1] : NaN;
  const text = Number.isFinite(nowDeg) ? `${nowDeg.toFixed(0)}°` : '–';
  const title = `upward gaze by a sensor; goal ${targetDeg}°`;
  return { name: 'gaze', text, ...gauge(nowDeg, targetDeg), title, ofModel: false };
}

function stillness(record: RunRecord): PatientMeter {
  let count = 0;
  let still = 0;
  for (let k = record.offeredCount - 1; k >= 0 && record.timeS[k] > record.seconds - STILL_S; k--) {
    count++;
    still += 1 - record.moved[k];
  }
  const share = count > 0 ? still / count : NaN;
  const title = `sweeps of the last ${STILL_S} s in which a motion sensor saw nothing`;
  return { name: 'still', text: percent(share), share: share > 0 ? share : 0, goal: 1, title, ofModel: false };
}

function patience(record: RunRecord): PatientMeter {
  const { scenario, seconds } = record;
  const freshS = meanQuietS(scenario.child, 0);
  const nowS = meanQuietS(scenarioAt(scenario, seconds).child, seconds);
  const title = `a quiet spell lasts about ${secondsText(nowS)} by now, ${secondsText(freshS)} at first; boredom shortens it, food and films lengthen it`;
  return { name: 'patience', text: `≈ ${secondsText(nowS)}`, ...gauge(nowS, freshS), title, ofModel: true };
}

const fatigues = new WeakMap<RunRecord, { at: ReturnType<typeof neckFatigue>; step: number; fatigue: number }>();

/** Fatigue of the neck at the newest sweep; worked out onwards from where it was last asked for. */
function fatigueNow(record: RunRecord): number {
  const known = fatigues.get(record) ?? { at: neckFatigue(record.scenario), step: 0, fatigue: 0 };
  fatigues.set(record, known);
  while (known.step * FATIGUE_STEP_S < record.seconds) {
    known.fatigue = known.at(known.step * FATIGUE_STEP_S, FATIGUE_STEP_S).fatigue;
    known.step++;
  }
  return known.fatigue;
}

function percent(share: number): string {
  return Number.isFinite(share) ? `${(100 * share).toFixed(0)} %` : '–';
}

function gauge(now: number, goal: number): { share: number; goal: number } {
  return { share: goal > 0 && now > 0 ? Math.min(1, now / (ROOM * goal)) : 0, goal: 1 / ROOM };
}
