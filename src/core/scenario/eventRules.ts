import { pausesOf } from '../stimulus/pauses.ts';
import { beatS, presentationCount } from '../stimulus/schedule.ts';
import type { Scenario } from './schema.ts';

/**
 * Checks that events happen during the session and that no pause begins in another.
 *
 * @param refuse - told path, rule and value of what cannot be
 */
export function checkEvents(
  scenario: Scenario,
  refuse: (path: string, rule: string, value: number | string) => void,
): void {
  if (scenario.events.length === 0) return;
  const lastS = beatS(scenario, presentationCount(scenario) - 1);
  const number = (value: number) => Number(value.toFixed(3));
  let pauseEndS = 0;
  let pausing = -1;
  for (const [k, event] of scenario.events.entries()) {
    if (!(event.atS <= lastS)) {
      refuse(`events.${k}.atS`, `must not be after the last stimulus (${number(lastS)} s)`, event.atS);
    }
    const [pause] = pausesOf({ ...scenario, events: [event] });
    if (pause === undefined) continue;
    if (!(pausing < 0 || event.atS >= pauseEndS - 1e-9)) {
      const rule = `must not begin a pause in that of events.${pausing} (until ${number(pauseEndS)} s)`;
      refuse(`events.${k}.atS`, rule, event.atS);
    }
    pauseEndS = pause.fromS + pause.lengthS;
    pausing = k;
  }
}
