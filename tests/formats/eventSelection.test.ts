import { describe, expect, it } from 'vitest';
import { eventChoices, RecordingError, selectEvents } from '../../src/formats/index.ts';
import { awkward } from './selection.fixture.ts';

describe('selectEvents', () => {
  const picked = [
    ['Mark=2', [0, 0.4], 'a run is one event; scaling does not touch codes'],
    ['mark=1,2', [0, 0.3, 0.4], 'several codes; a change from one to the other is an event'],
    ['Mark=1,Mark=2', [0, 0.3, 0.4], 'the long form of the same'],
    ['annotation=target, left', [0.05, 0.3], 'a text with a comma'],
    ['status=7', [0.2], 'a trigger code'],
    ['annotation=target, left,status=7,Mark=1', [0.05, 0.2, 0.3], 'merged, sorted, each time once'],
  ] as const;
  it.each(picked)('%s is at %j s (%s)', (text, times) => {
    expect(selectEvents(awkward, text)).toEqual(times);
  });

  const refused = [
    [
      'Mark=3',
      'made.csv: events: must match an event, got "Mark=3"; there are annotation=target, left (2), status=7 (1), Mark=1 (1), Mark=2 (2)',
    ],
    [
      'Trigger=1',
      'column must be one of Cz, A1, Fp1-Ref, cz, left, ear, Mark, Slow, annotation, status, rise, fall, every, got "Trigger"',
    ],
    ['Mark', 'must be COLUMN=CODE, annotation=TEXT, status=CODE, rise=CHANNEL@LEVEL or every=STEP@FIRST, got "Mark"'],
    ['', 'must be COLUMN=CODE'],
    ['Mark=', 'must be COLUMN=CODE'],
    ['=2', 'must be COLUMN=CODE'],
    ['Mark=two', 'events, Mark: code must be a number other than 0, got "two"'],
    ['Mark=0', 'code must be a number other than 0, got "0"'],
    ['annotation=target', 'must match an event, got "annotation=target"'],
    ['status=8', 'must match an event, got "status=8"'],
    ['Mark=2,status=8', 'must match an event, got "status=8"'],
  ] as const;
  it.each(refused)('%j is refused with the choices', (text, message) => {
    expect(() => selectEvents(awkward, text)).toThrow(RecordingError);
    expect(() => selectEvents(awkward, text)).toThrow(message);
  });

  it('every choice it lists can be picked, with as many events', () => {
    const choices = eventChoices(awkward);
    expect(choices).toHaveLength(4);
    for (const { selector, eventCount } of choices) expect(selectEvents(awkward, selector)).toHaveLength(eventCount);
  });
});
