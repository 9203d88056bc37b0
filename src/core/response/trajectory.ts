import type { Scenario } from '../scenario/schema.ts';
import { LEAD_IN_S } from '../stimulus/schedule.ts';

/** How far a response has moved at one moment. */
export interface Displacement {
  latencyMs: number;
  amplitudeFactor: number;
}

/**
 * Makes the slow change of a response during a session.
 *
 *     u = (t − start)/(end − start) limited to 0 … 1;   latency + u·shift,   amplitude · (1 + u·(factor − 1))
 *
 * A straight ramp of the whole response, every wave alike: our choice. With end ≤ start the change is a step.
 *
 * @returns a function of the sample of a presentation
 */
export function trajectory(scenario: Scenario): (sample: number) => Displacement {
  const { startS, endS, latencyShiftMs, amplitudeFactor } = scenario.response.trajectory;
  const { sampleRateHz } = scenario.converter;
  return (sample) => {
    const timeS = sample / sampleRateHz - LEAD_IN_S;
    const done = endS > startS ? Math.min(1, Math.max(0, (timeS - startS) / (endS - startS))) : timeS >= startS ? 1 : 0;
    return { latencyMs: done * latencyShiftMs, amplitudeFactor: 1 + done * (amplitudeFactor - 1) };
  };
}
