import { activityUv } from './deskReading.ts';
import { voltageText } from './numberText.ts';
import type { RunRecord } from './runRecord.ts';

/** What the patient has to keep up, as a meter would show it. */
export interface PatientMeter {
  name: string;
  text: string;
  /** Filled part of the gauge and the place of the goal on it, 0 … 1. */
  share: number;
  goal: number;
  title: string;
}

const RECENT_SWEEPS = 5; // a mean over about a second: steadier could not be watched
const ROOM = 1.5; // the gauge ends at one and a half times the goal

/**
 * The meter of a response that needs the patient's effort: contraction of the neck, or upward gaze; null for others.
 *
 * The contraction is what the electrodes show before each stimulus, the gaze what a sensor tells: both could be seen at
 * the bedside.
 */
export function patientMeter(record: RunRecord): PatientMeter | null {
  const { scenario, offeredCount } = record;
  const { kind } = scenario.response;
  if (kind === 'cvemp') {
    const goalUv = scenario.contraction.meanRectifiedUv;
    const nowUv = activityUv(record, offeredCount - 1, RECENT_SWEEPS);
    return {
      name: 'effort',
      text: voltageText(nowUv),
      share: shareOf(nowUv, goalUv),
      goal: 1 / ROOM,
      title: `mean rectified activity of the neck before the last ${RECENT_SWEEPS} sounds; goal ${voltageText(goalUv)}`,
    };
  }
  if (kind === 'ovemp') {
    const goalDeg = scenario.gaze.targetDeg;
    const nowDeg = offeredCount > 0 ? record.gazeDeg[offeredCount - 1] : NaN;
    return {
      name: 'gaze',
      text: Number.isFinite(nowDeg) ? `${nowDeg.toFixed(0)}°` : '–',
      share: shareOf(nowDeg, goalDeg),
      goal: 1 / ROOM,
      title: `upward gaze by a sensor; goal ${goalDeg}°`,
    };
  }
  return null;
}

function shareOf(now: number, goal: number): number {
  return goal > 0 && now > 0 ? Math.min(1, now / (ROOM * goal)) : 0;
}
