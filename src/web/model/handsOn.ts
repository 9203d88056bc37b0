import type { Action, ActionTarget } from '../../core/scenario/actions/action.ts';
import { action, actions } from '../../core/scenario/actions.ts';
import { scenarioStages } from '../../core/scenario/resolve.ts';
import type { Scenario } from '../../core/scenario/schema.ts';
import { pausesOf } from '../../core/stimulus/pauses.ts';

/** One event of a scenario as it is written there. */
export type BenchEvent = Scenario['events'][number];

/** What is offered to the hands, in groups, each with its key. What is not listed is done in a scenario file. */
const groups: readonly { title: string; entries: readonly (readonly [Action['id'], string])[] }[] = [
  {
    title: 'Ask the patient',
    entries: [
      ['clench', 'c'],
      ['swallow', 's'],
      ['move', 'z'],
      ['relax-the-jaw', 'j'],
      ['lift-the-head', 'h'],
      ['lower-the-head', 'd'],
      ['look-up', 'u'],
      ['look-ahead', 'y'],
      ['look-aside', 'o'],
      ['close-the-eyes', 'i'],
    ],
  },
  {
    title: 'Care and sound',
    entries: [
      ['wait', 'w'],
      ['feed-the-child', 'f'],
      ['show-a-film', 'v'],
      ['give-a-blanket', 'g'],
      ['cool-the-room', 'q'],
      ['mute-the-sound', 'm'],
      ['pinch-the-tube', 'k'],
      ['let-the-sound-through', 'x'],
    ],
  },
  {
    title: 'Rig and room',
    entries: [
      ['loosen-an-electrode', 'l'],
      ['re-prep-an-electrode', 'e'],
      ['bring-a-pump-near', 'p'],
      ['move-the-preamp-to-the-head', 'a'],
      ['switch-to-battery', 'b'],
      ['bunch-the-leads', ''],
      ['take-shielded-leads', ''],
      ['move-the-cables-away', ''],
      ['switch-the-lamps-off', ''],
      ['pull-an-electrode-off', ''],
      ['plug-the-leads-right', ''],
    ],
  },
];

/** An action as the page offers it. */
export interface OfferedAction {
  action: Action;
  /** One letter, or nothing. */
  key: string;
  /** Why it makes no sense now; null if it does. */
  refusal: string | null;
}

/** What holds at a moment on the clock of the session. */
export function scenarioAt(scenario: Scenario, atS: number): Scenario {
  let now = scenario;
  for (const stage of scenarioStages(scenario)) if (stage.fromS <= atS) now = stage.scenario;
  return now;
}

/** The actions in their groups, each with its key, and why not where one makes no sense at this moment. */
export function offeredActions(scenario: Scenario, atS: number): { title: string; offers: OfferedAction[] }[] {
  const now = scenarioAt(scenario, atS);
  return groups.map(({ title, entries }) => ({
    title,
    offers: entries.flatMap(([id, key]) => {
      const known = actions.find((entry) => entry.id === id);
      if (!known) return [];
      const needed = known.needs(now);
      return [{ action: known, key, refusal: needed === null ? null : `needs ${needed}` }];
    }),
  }));
}

/** The action on a key of the page, or null. */
export function actionOnKey(key: string): Action['id'] | null {
  if (key === '') return null;
  for (const { entries } of groups) for (const [id, letter] of entries) if (letter === key) return id;
  return null;
}

/**
 * The moment at which something done now takes effect, s on the clock of the session: after all sweeps seen so far,
 * and after a pause that still runs.
 */
export function effectiveS(scenario: Scenario, seconds: number): number {
  let atS = Math.ceil(1000 * seconds - 1e-6) / 1000; // whole ms are easy to read and to edit
  for (const { fromS, lengthS } of pausesOf(scenario)) {
    if (atS >= fromS && atS < fromS + lengthS) atS = Math.ceil(1000 * (fromS + lengthS) - 1e-6) / 1000;
  }
  return atS;
}

/** The events with one more, in order of time. */
export function withEvent(
  events: readonly BenchEvent[],
  atS: number,
  id: BenchEvent['action'],
  target: ActionTarget = 'none',
): Partial<BenchEvent>[] {
  const added = { atS, action: id, ...(target === 'none' ? {} : { target }) };
  return [...events, added].sort((a, b) => a.atS - b.atS); // stable: at one moment, in the order in which they were done
}

/** What an event does, for lists and ticks. */
export function eventLabel(event: BenchEvent): string {
  const done = action(event.action);
  const parts = done ? [done.label] : [];
  if (event.target !== 'none') parts.push(event.target);
  if (event.note) parts.push(event.note);
  if (parts.length === 0 && event.pauseS > 0) parts.push(`Pause ${event.pauseS} s`);
  if (parts.length === 0) parts.push(Object.keys(event.set).join(', '));
  return parts.join(' · ');
}
