import { describe, expect, it } from 'vitest';
import { type AttemptEvent, afterEvent, attemptOf, freshState } from '../../src/lessons/attemptLog.ts';
import { computeFigure } from '../../src/lessons/figures.ts';
import { caseOf, runOf, scenarioOf, startSettings } from '../../src/lessons/lessonRun.ts';
import { readLesson } from '../../src/lessons/readLesson.ts';
import { settingsOf } from '../../src/lessons/standardPlayers.ts';
import { lessonDocument } from './lessonFolders.ts';

// biome-ignore lint/suspicious/noExplicitAny: documents are broken on purpose
type Loose = any;

/** The first lesson with two unlabelled patients, a diagnosis of each, and a test that sets two keys. */
function riddle(): Loose {
  const document = lessonDocument('quieter-by-the-root') as Loose;
  document.cases = [
    { id: 'loud', text: 'loud activity', change: { 'eeg.slowUv': 30 } },
    { id: 'hum', text: 'hum', change: { 'mains.fundamentalUv': 40 } },
  ];
  const options = document.cases.map(({ id, text }: Loose) => ({ id, text }));
  for (const place of [1, 2]) {
    document.runs.push({ id: `p${place}`, title: `Patient ${place}`, bench: true, case: place, settings: ['test'] });
    const said = { kind: 'choice', id: `says-${place}`, diagnosisOf: `p${place}`, text: `Patient ${place}`, options };
    document.settings.push({ ...said, start: 'loud' });
  }
  document.settings.push({
    ...{ kind: 'choice', id: 'test', text: 'Test', start: 'none' },
    options: [
      { id: 'none', text: 'as it is', change: { 'mains.wanderHz': 0.02, 'eeg.alphaUv': 0 } },
      { id: 'both', text: 'two keys', change: { 'mains.wanderHz': 0.3, 'eeg.alphaUv': 5 } },
    ],
  });
  for (const player of Object.values(document.players) as Loose[]) player.settings.test = 'none';
  return document;
}

const theLesson = readLesson(riddle(), 'riddle');
const seeds = ['1', '2', '3', '4', '5', '6', '7', '8', '9', '10'];
const idOf = (place: number, seed: string) => caseOf(theLesson, runOf(theLesson, `p${place}`), seed)?.id;

describe('unlabelled patients', () => {
  it('share the cases between them, and who has what differs between attempts', () => {
    for (const seed of seeds) expect([idOf(1, seed), idOf(2, seed)].sort()).toEqual(['hum', 'loud']);
    expect(new Set(seeds.map((seed) => idOf(1, seed))).size).toBe(2);
  });

  it('have the changes of their case, and a setting may change several keys', () => {
    const settings = { ...startSettings(theLesson), test: 'both' };
    for (const seed of seeds) {
      const { eeg, mains } = scenarioOf(theLesson, runOf(theLesson, 'p1'), settings, seed);
      expect([eeg.slowUv === 30, mains.fundamentalUv === 40]).toEqual(
        idOf(1, seed) === 'loud' ? [true, false] : [false, true],
      );
      expect([mains.wanderHz, eeg.alphaUv]).toEqual([0.3, 5]);
    }
  });

  it('are the same for all attempts where the seeds are shared', () => {
    const document = riddle();
    document.hidden.seeds = 'shared';
    const shared = readLesson(document, 'riddle');
    expect(new Set(seeds.map((seed) => caseOf(shared, runOf(shared, 'p1'), seed)?.id)).size).toBe(1);
  });

  it('are diagnosed rightly or wrongly, and a standard player knows or mistakes them', () => {
    for (const attemptSeed of seeds) {
      const right = settingsOf(theLesson, theLesson.players.textbook, attemptSeed);
      const mistaken = { ...theLesson.players.textbook, diagnoses: { loud: 'hum', hum: 'loud' } };
      const wrong = settingsOf(theLesson, mistaken, attemptSeed);
      for (const setting of ['says-1', 'says-2']) {
        const of = (settings: typeof right) =>
          computeFigure(
            { figure: 'diagnosis', setting },
            { lesson: theLesson, settings, measures: new Map(), attemptSeed },
          ).value;
        expect([of(right), of(wrong)]).toEqual([1, 0]);
      }
    }
  });
});

describe('looks at unlabelled patients', () => {
  const played = (events: object[]) =>
    events.reduce<ReturnType<typeof freshState>>(
      (state, event, k) => afterEvent(theLesson, state, { atS: k, ...event } as AttemptEvent),
      freshState(theLesson),
    );
  const looked = [
    { kind: 'lock' },
    { kind: 'bench', run: 'p1' },
    { kind: 'setting', setting: 'test', value: 'both' },
    { kind: 'bench', run: 'p2' },
  ];

  it('count once for each patient and test', () => {
    const state = played([...looked, { kind: 'setting', setting: 'says-1', value: 'hum' }, ...looked]);
    expect(attemptOf(state, '1').lookCount).toBe(3); // p1 as it is, p1 tested, p2 tested
  });

  it('do not count on a patient who has a name', () => {
    const run = theLesson.runs.find((entry) => entry.bench && entry.case === undefined)?.id;
    expect(played([{ kind: 'lock' }, { kind: 'bench', run }]).looks).toEqual([]);
  });

  it('a diagnosis stands once the seal is broken', () => {
    const state = played([...looked, { kind: 'unseal' }]);
    const late = { atS: 99, kind: 'setting', setting: 'says-2', value: 'hum' } as const;
    expect(() => afterEvent(theLesson, state, late)).toThrow('must come before the seal is broken');
    expect(afterEvent(theLesson, state, { ...late, setting: 'test', value: 'none' }).settings.test).toBe('none');
  });

  it('nobody is praised for not having looked', () => {
    const figure = (lookCount: number) =>
      computeFigure({ figure: 'looks' }, { lesson: theLesson, settings: {}, measures: new Map(), lookCount }).value;
    expect(figure(0)).toBeNaN();
    expect(figure(4)).toBe(4);
  });
});

describe('readLesson refuses a riddle', () => {
  const cases: [why: string, breakIt: (document: Loose) => void, message: string][] = [
    [
      'with a place beyond the cases',
      (d) => (d.runs.at(-1).case = 3),
      'must be at most the number of cases (2), got 3',
    ],
    [
      'that asks who a named patient is',
      (d) => (d.settings.at(-2).diagnosisOf = d.runs[0].id),
      'must be a run with a case',
    ],
    ['of which a case cannot be named', (d) => (d.cases[0].id = 'else'), 'must have every case, got "else"'],
    [
      'with a test of which one option changes nothing and does not say so',
      (d) => delete d.settings.at(-1).options[1].change,
      'must be given for every option, {} for none, got "nothing"',
    ],
    ['with a case that makes no scenario', (d) => (d.cases[1].change['eeg.slowUv'] = -1), 'eeg.slowUv'],
  ];
  it.each(cases)('%s', (_why, breakIt, message) => {
    const document = riddle();
    breakIt(document);
    expect(() => readLesson(document, 'riddle')).toThrow(message);
  });
});
