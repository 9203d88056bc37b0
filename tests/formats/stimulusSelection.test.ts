import { describe, expect, it } from 'vitest';
import { readRecording, selectEvents, selectStimuli } from '../../src/formats/index.ts';

/** Ten samples a second; a trigger channel that rises at samples 3, 6 and 12, and marker codes. */
const trigger = [0, 0, 1, 5, 5, 0, 6, 4.9, 5, 0, 0, 2, 9, 9, 0, 0, 0, 0, 0, 0];
const marker = [0, 1, 0, 2, 0, 1, 0, 2, 0, 1, 0, 2, 0, 0, 0, 0, 0, 0, 0, 0];
const text = `time (s),Trigger,Marker\n${trigger.map((uv, i) => `${i / 10},${uv},${marker[i]}`).join('\n')}\n`;
const recording = readRecording('hand.csv', new TextEncoder().encode(text));
const samples = (timesS: readonly number[]) => timesS.map((timeS) => Math.round(10 * timeS));

describe('events by hand', () => {
  it.each([
    ['rise=Trigger@5', [3, 6, 8, 12], 'at or above the level after being below it'],
    ['rise=trigger@5.5', [6, 12], 'a higher level, whatever the case of the name'],
    ['fall=Trigger@0', [5, 9, 14], 'at or below'],
    ['every=0.5@0.2', [2, 7, 12, 17], 'a steady beat up to the end'],
    ['every=0.5@0.2,Marker=1', [1, 2, 5, 7, 9, 12, 17], 'beside others, merged'],
  ])('%s finds samples %j: %s', (selector, expected) => {
    expect(samples(selectEvents(recording, selector))).toEqual(expected);
  });

  it.each([
    ['every=0@1', 'STEP must be above 0 s, got "0@1"'],
    ['every=0.5@90', 'FIRST must lie within the recording (0 to 2 s), got "0.5@90"'],
    ['every=1e-9@0', 'STEP must give at most 1000000 events'],
    ['every=soon', 'must be STEP@FIRST in seconds, got "soon"'],
    ['rise=Trigger', 'must be CHANNEL@LEVEL with the level in µV, got "Trigger"'],
    ['rise=Cz@5', 'channel must be one of Trigger, Marker, got "Cz@5"'],
    ['rise=Trigger@500', 'must match an event'],
  ])('%s is refused: %s', (selector, message) => {
    expect(() => selectEvents(recording, selector)).toThrow(message);
  });
});

describe('selectStimuli', () => {
  it('merges choices by time, each with its polarity', () => {
    const { eventTimesS, polarities } = selectStimuli(recording, [
      { events: 'Marker=1', polarity: 'condensation' },
      { events: 'Marker=2', polarity: 'rarefaction' },
    ]);
    expect(samples(eventTimesS)).toEqual([1, 3, 5, 7, 9, 11]);
    expect(polarities).toEqual([1, -1, 1, -1, 1, -1]);
  });

  it('alternates from condensation on, and gives an instant claimed twice to the first', () => {
    const { eventTimesS, polarities } = selectStimuli(recording, [
      { events: 'Marker=1,2', polarity: 'alternating' },
      { events: 'Marker=2', polarity: 'condensation' },
    ]);
    expect(eventTimesS).toHaveLength(6);
    expect(polarities).toEqual([1, -1, 1, -1, 1, -1]);
  });

  it('refuses an empty choice', () => {
    expect(() => selectStimuli(recording, [])).toThrow('hand.csv: events: at least one must be chosen, got none');
  });
});
