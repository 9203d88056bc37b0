import { describe, expect, it } from 'vitest';
import { nextUniform, stream } from '../../../src/core/random/stream.ts';
import { AttemptError } from '../../../src/lessons/attemptFile.ts';
import { drillFile, readDrillFile, verifyDrill } from '../../../src/lessons/drills/drillFile.ts';
import { afterDrillEvent, type DrillEvent, freshDrill } from '../../../src/lessons/drills/drillLog.ts';
import { markDrill } from '../../../src/lessons/drills/markDrill.ts';
import { drill, finished } from './drillFiles.ts';

const swapped = drill('student-helps'); // two leads exchanged: the fastest to run
const stateOf = (events: readonly DrillEvent[]) =>
  events.reduce((state, event) => afterDrillEvent(swapped, state, event), freshDrill);
const markOf = (events: readonly DrillEvent[]) => finished(markDrill(swapped, stateOf(events)));
const pointsOf = (events: readonly DrillEvent[]) => markOf(events).lines.map(({ points }) => points);

const textbook: DrillEvent[] = [
  { atS: 40, kind: 'source', source: 'exchanged-leads' },
  { atS: 50, kind: 'remedy', remedy: 'plug-the-leads-right' },
  { atS: 70, kind: 'finish' },
];

describe('markDrill', () => {
  it('gives all points for the first guess, the least remedy and little time, and a number for each', () => {
    const { points, lines, spentS, mended } = markOf(textbook);
    expect([points, spentS, mended]).toEqual([100, 80, true]); // 70 s, and 10 s for the plugs
    for (const { finding, rule } of lines) expect(`${finding} ${rule}`).toMatch(/\d/);
  });

  it('gives half for the second guess, a share for detours, and counts their time', () => {
    const events: DrillEvent[] = [
      { atS: 20, kind: 'source', source: 'no-sound' },
      { atS: 30, kind: 'remedy', remedy: 'check-the-tube' },
      { atS: 50, kind: 'undo' },
      { atS: 60, kind: 'source', source: 'exchanged-leads' },
      { atS: 90, kind: 'remedy', remedy: 're-prep-an-electrode' },
      { atS: 120, kind: 'remedy', remedy: 'plug-the-leads-right' },
      { atS: 145, kind: 'finish' },
    ];
    // 145 s + 15 + 40 + 10 = 210 s: half of the way from 120 to 300 s. Three taken, one needed.
    expect(pointsOf(events)).toEqual([20, 30, 6.7, 5]);
  });

  it('gives nothing for the wrong source and nothing mended, however fast', () => {
    const events: DrillEvent[] = [
      { atS: 1, kind: 'source', source: 'no-sound' },
      { atS: 2, kind: 'finish' },
    ];
    expect(pointsOf(events)).toEqual([0, 0, 0, 0]);
  });
});

describe('afterDrillEvent', () => {
  it.each<[string, DrillEvent[], RegExp]>([
    ['a remedy before a source', [{ atS: 1, kind: 'remedy', remedy: 'check-the-tube' }], /needs a source/],
    [
      'a source that is not on offer',
      [{ atS: 1, kind: 'source', source: 'heart' }],
      /must be one that the drill offers/,
    ],
    ['the same guess twice', [textbook[0], textbook[0]], /another than the first guess/],
    ['a remedy twice', [textbook[0], textbook[1], textbook[1]], /must not hold already/],
    ['undoing nothing', [textbook[0], { atS: 41, kind: 'undo' }], /needs a remedy that holds/],
    ['anything after the end', [...textbook, { atS: 71, kind: 'undo' }], /before the drill is handed in/],
    ['anything after five minutes', [textbook[0], { ...textbook[1], atS: 301 } as DrillEvent], /within 300 s/],
    ['a time that is none', [{ ...textbook[0], atS: NaN } as DrillEvent], /atS must be seconds/],
  ])('refuses %s', (_, events, message) => {
    expect(() => stateOf(events)).toThrow(message);
  });

  it('still takes the end when the time is over', () => {
    expect(stateOf([textbook[0], { atS: 500, kind: 'finish' }]).finished).toBe(true);
  });
});

describe('a record of a drill', () => {
  let made: string | null = null;
  const text = () => {
    made ??= JSON.stringify(drillFile(swapped, 'Ada', 'test', textbook, markOf(textbook)));
    return made;
  };

  it('is replayed and marked again to the same points', () => {
    const { problems, mark } = verifyDrill(swapped, readDrillFile('a.json', text()));
    expect([problems, mark?.points]).toEqual([[], 100]);
  });

  it.each<[string, (text: string) => string, RegExp]>([
    ['an event', (it) => it.replace('exchanged-leads', 'reversed-leads'), /^events\.0: link must be/],
    ['a name', (it) => it.replace('Ada', 'Bob'), /^events\.0: link must be/],
    ['a score', (it) => it.replace('"points":100', '"points":99'), /^score\.points: must be 100/],
    ['a line of the score', (it) => it.replace('"least":20', '"least":10'), /^score\.lines\.least: must be 20/],
    ['the edition', (it) => it.replace(/"digest":"..../, '"digest":"0000'), /^drill\.digest: must be/],
  ])('shows that %s was altered', (_, alter, message) => {
    const altered = alter(text());
    expect(altered).not.toBe(text());
    expect(verifyDrill(swapped, readDrillFile('a.json', altered)).problems[0]).toMatch(message);
  });

  it('never crashes the verifier, whatever one letter of it becomes', () => {
    const whole = text();
    const random = stream('1', 'test/drill-fuzz');
    const letters = '09az{}[]",:-';
    for (let round = 0; round < 60; round++) {
      const at = Math.floor(nextUniform(random) * whole.length);
      const letter = letters[Math.floor(nextUniform(random) * letters.length)];
      if (letter === whole[at]) continue;
      const altered = whole.slice(0, at) + letter + whole.slice(at + 1);
      let found: string[];
      try {
        found = verifyDrill(swapped, readDrillFile('a.json', altered)).problems;
      } catch (error) {
        expect(error, altered).toBeInstanceOf(AttemptError);
        continue;
      }
      expect(found.length, altered).toBeGreaterThan(0);
    }
  });

  it('is refused with file, key and rule if it is none', () => {
    expect(() => readDrillFile('a.json', '{')).toThrow(/^a\.json: must be JSON/);
    expect(() => readDrillFile('a.json', '{}')).toThrow(/^a\.json: format: /);
    expect(() => readDrillFile('a.json', text().replace('"atS":40', '"atS":-4'))).toThrow(/^a\.json: events\.0\.atS/);
  });
});
