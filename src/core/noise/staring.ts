import type { Scenario } from '../scenario/schema.ts';
import { pausesOf, withPauses } from '../stimulus/pauses.ts';
import { beatS, LEAD_IN_S, presentationCount } from '../stimulus/schedule.ts';

const COMFORTABLE_S = 8; // so long the eye stays open as always, model value

/** A stretch of the recording in which the eyes want to close, s from its first sample. */
export interface Stare {
  fromS: number;
  toS: number;
}

/**
 * Lists when a patient who looks up has done so for more than 8 s: in each train of sounds, anew after a rest or a pause.
 *
 * Nobody stares whose response needs no gaze, or whose target is straight ahead. What an event orders by name alone, without
 * a pause, is not seen. In order, without overlap.
 */
export function staresOf(scenario: Scenario): Stare[] {
  const { response, gaze, stimulus } = scenario;
  if (response.kind !== 'ovemp' || gaze.targetDeg === 0) return [];
  const pauses = pausesOf(scenario);
  const endS = beatS(scenario, Math.max(0, presentationCount(scenario) - 1));
  const { trainS, restS } = stimulus;
  const trainCount = trainS > 0 ? Math.ceil(scenario.session.durationS / trainS) : 1;
  return Array.from({ length: trainCount }, (_, train) => {
    const startS = train * (trainS + restS);
    const upS = withPauses(pauses, startS);
    const downS = trainS > 0 ? Math.min(endS, withPauses(pauses, startS + trainS)) : endS;
    const within = pauses.filter(({ fromS }) => fromS > upS && fromS < downS);
    const starts = [upS, ...within.map(({ fromS, lengthS }) => fromS + lengthS)];
    const ends = [...within.map(({ fromS }) => fromS), downS];
    return starts.map((fromS, k) => ({ fromS: LEAD_IN_S + fromS + COMFORTABLE_S, toS: LEAD_IN_S + ends[k] }));
  })
    .flat()
    .filter(({ fromS, toS }) => fromS < toS);
}

/**
 * Moves a moment that was drawn at the usual rate to where it falls if the rate is `factor` times as high while staring.
 *
 *     ∫ rate(t) dt from `fromS` to the result = the usual rate · waitS
 */
export function sooner(stares: readonly Stare[], factor: number, fromS: number, waitS: number): number {
  let nowS = fromS;
  let leftS = waitS;
  for (const stare of stares) {
    if (stare.toS <= nowS) continue;
    const calmS = Math.max(0, stare.fromS - nowS);
    if (leftS <= calmS) break;
    nowS += calmS;
    leftS -= calmS;
    const hastyS = (stare.toS - nowS) * factor;
    if (leftS <= hastyS) return nowS + leftS / factor;
    nowS = stare.toS;
    leftS -= hastyS;
  }
  return nowS + leftS;
}
