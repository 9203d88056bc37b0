import { describe, expect, it } from 'vitest';
import { type AttemptEvent, type AttemptState, afterEvent, freshState } from '../../src/lessons/attemptLog.ts';
import { lesson } from './lessonFolders.ts';

const theLesson = { ...lesson('rails-and-tails'), benchLimit: 3 };

type Untimed<Event> = Event extends { atS: number } ? Omit<Event, 'atS'> : never;

function played(events: readonly Untimed<AttemptEvent>[]): AttemptState {
  return events.reduce(
    (state, event, k) => afterEvent(theLesson, state, { ...event, atS: k } as AttemptEvent),
    freshState(theLesson),
  );
}

const bench = (run: string) => ({ kind: 'bench' as const, run });
const range = (value: number) => ({ kind: 'setting' as const, setting: 'range', value });
const three = [{ kind: 'lock' as const }, bench('loose'), range(80), bench('clencher')];

describe('a limit of evaluations', () => {
  it('counts different pairs of a run and its settings; going back to one costs nothing', () => {
    expect(played(three).evaluations.length).toBe(3);
    expect(played([...three, range(50), bench('loose'), bench('clencher')]).evaluations.length).toBe(3);
  });

  it('refuses the one beyond it, by name, rule and number', () => {
    const rule = 'bench: must stay within 3 evaluations, got 4';
    expect(() => played([...three, bench('as-found')])).toThrow(rule);
    const rangeRule = 'setting: must stay within 3 evaluations, got 4';
    expect(() => played([...three.slice(0, 3), range(90), range(100)])).toThrow(rangeRule);
  });
});
