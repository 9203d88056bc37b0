import { describe, expect, it } from 'vitest';
import { drillRemedies } from '../../../src/lessons/drills/drillRemedies.ts';
import { drillSources } from '../../../src/lessons/drills/drillSources.ts';
import { readDrillText } from '../../../src/lessons/drills/readDrill.ts';

const good = `format: 1
version: 1
id: x
place: 1
title: A title
story: A story.
session: { stimulus.ratePerS: { at50: 25, at60: 30 } }
trouble:
  room.fieldUt: 1
sources: [field, lamps, background]
remedies: [bunch-the-leads, switch-to-battery, take-the-notch]
debrief: ['At [[25|30]] a second.']
`;
const read = (from: string, to: string) => () => readDrillText(good.replace(from, to), 'drills/x.yaml');

describe('readDrillText', () => {
  it('reads a drill for both supplies', () => {
    expect(readDrillText(good, 'x.yaml').session).toEqual({ 'stimulus.ratePerS': 25 });
    const { lineHz, session, debrief } = readDrillText(good, 'x.yaml', 60);
    expect([lineHz, session, debrief]).toEqual([60, { 'stimulus.ratePerS': 30 }, ['At 30 a second.']]);
  });

  it.each([
    [
      '  room.fieldUt: 1',
      '  room.fieldUt: lots',
      /^drills\/x\.yaml:9: trouble: must make a scenario: room\.fieldUt: .*lots/,
    ],
    [
      '  room.fieldUt: 1',
      '  room.filed: 1',
      /^drills\/x\.yaml:9: trouble: must make a scenario: room\.filed: unknown key/,
    ],
    ['trouble:\n  room.fieldUt: 1', 'trouble: {}', /^drills\/x\.yaml:8: trouble: must hold a key/],
    ['lamps', 'lampes', /^drills\/x\.yaml:10: sources\.1: source: must be one of .*, got "lampes"/],
    ['take-the-notch', 'pray', /^drills\/x\.yaml:11: remedies\.2: remedy: must be one of .*, got "pray"/],
    ['place: 1', 'place: one', /^drills\/x\.yaml:4: place: must be integer, got "one"/],
    ['place: 1', 'place: 1\nlineHz: 50', /^drills\/x\.yaml:5: lineHz: must not be written/],
    ['place: 1', 'places: 1', /^drills\/x\.yaml:1: place: must be given/],
    ['format: 1', 'format: [', /^drills\/x\.yaml:/],
  ])('refuses %s → %s, with file, line and rule', (from, to, message) => {
    expect(read(from, to)).toThrow(message);
  });

  it('knows every source and remedy by one name', () => {
    for (const list of [drillSources, drillRemedies]) expect(new Set(list.map(({ id }) => id)).size).toBe(list.length);
  });
});
