import type { Scenario } from '../../core/scenario/schema.ts';
import { beatS, presentationCount } from '../../core/stimulus/schedule.ts';

/** When the session ends, s on its clock: rests between trains and pauses included. */
export function sessionEndS(scenario: Scenario): number {
  const last = Math.max(0, presentationCount(scenario) - 1);
  return beatS(scenario, last) + 1 / scenario.stimulus.ratePerS;
}

/** Whether the clock of the session counts rests or pauses beside the stimulation. */
export function hasSilences(scenario: Scenario): boolean {
  return sessionEndS(scenario) > scenario.session.durationS + 0.05; // less is rounding to whole intervals
}

/** The sweep that comes first from a time on, s on the clock of the session; the number of sweeps after the last. */
export function sweepFrom(scenario: Scenario, timeS: number): number {
  let low = 0;
  let high = presentationCount(scenario);
  while (low < high) {
    const middle = (low + high) >> 1;
    if (beatS(scenario, middle) < timeS - 1e-9) low = middle + 1;
    else high = middle;
  }
  return low;
}
