import { describe, expect, it } from 'vitest';
import { AttemptError, type AttemptFile, attemptFile, readAttemptFile } from '../../src/lessons/attemptFile.ts';
import { type AttemptEvent, afterEvent, attemptOf, freshState } from '../../src/lessons/attemptLog.ts';
import type { RunCache } from '../../src/lessons/hiddenRuns.ts';
import type { Lesson } from '../../src/lessons/schema.ts';
import { learnerSeed, verifyAttempt } from '../../src/lessons/verifyAttempt.ts';
import { markNow } from './marking.ts';
import { quickLesson } from './quickLesson.ts';

const PROGRAM = '0.0.test';
const theLesson = quickLesson();
const cache: RunCache = new Map();

const events: AttemptEvent[] = [
  { atS: 4, kind: 'answer', question: 'sweeps-80', answer: 480 },
  { atS: 5, kind: 'answer', question: 'sweeps-40', answer: 100 },
  { atS: 6, kind: 'clear', question: 'sweeps-40' },
  { atS: 7, kind: 'answer', question: 'sweeps-40', answer: 1900 },
  { atS: 8, kind: 'confidence', question: 'sweeps-40', percent: 80 },
  { atS: 9, kind: 'lock' },
  { atS: 10, kind: 'bench', run: 'ines' },
  { atS: 60, kind: 'setting', setting: 'planned-seconds', value: 12 },
  { atS: 61, kind: 'hint', hint: 2 },
  { atS: 70, kind: 'unseal' },
  { atS: 80, kind: 'answer', question: 'scatter', answer: 'fifth' },
  { atS: 90, kind: 'text', text: 'Because powers add.' },
  { atS: 99, kind: 'finish' },
];

/** Plays events by the rules and marks them, as the page does. */
function played(lesson: Lesson = theLesson, play: readonly AttemptEvent[] = events, learner = 'Ada'): AttemptFile {
  const state = play.reduce((before, event) => afterEvent(lesson, before, event), freshState(lesson));
  const attemptSeed = lesson.hidden.seeds === 'per-learner' ? learnerSeed(learner, 1) : 'seed-1';
  const mark = state.finished ? markNow(lesson, attemptOf(state, attemptSeed), cache) : null;
  return attemptFile({ lesson, learner, attempt: 1, attemptSeed, program: PROGRAM }, play, state, mark);
}

const problemsOf = (file: AttemptFile, lesson = theLesson) => verifyAttempt(lesson, file, PROGRAM, cache).problems;

describe('verifyAttempt', () => {
  it('finds nothing wrong with an honest attempt, after a trip through text, and gives the same mark', () => {
    const file = played();
    const again = readAttemptFile('a.json', JSON.stringify(file));
    const { problems, notes, mark } = verifyAttempt(theLesson, again, PROGRAM, cache);
    expect(problems).toEqual([]);
    expect(notes).toEqual([]);
    expect(mark?.points).toBe(file.score?.points);
    expect(mark?.hints).toEqual({ count: 1, cost: 1 });
  });

  it('says so if the attempt was not handed in, or marked by another version', () => {
    const file = played(theLesson, events.slice(0, -1));
    const { problems, notes, mark } = verifyAttempt(theLesson, { ...file, program: '9.9.9' }, PROGRAM, cache);
    expect(mark).toBeNull();
    expect(notes).toEqual([`program: marked by version 9.9.9, verified by ${PROGRAM}`, 'not handed in yet']);
    expect(problems).toEqual([expect.stringContaining('events.0: link')]); // the version is part of the links
  });

  // biome-ignore lint/suspicious/noExplicitAny: the point is to forge files in every way
  const forgeries: [why: string, forge: (file: any) => void, problem: string][] = [
    ['a better total', (f) => (f.score.points = 100), 'score.points: must be'],
    ['a better line', (f) => (f.score.lines['sweeps-20'] = 4), 'score.lines.sweeps-20: must be 0'],
    ['a line that is not there', (f) => (f.score.lines.beauty = 5), 'score.lines.beauty: must be absent'],
    ['no cost of hints', (f) => (f.score.hintCost = 0), 'score.hintCost: must be 1'],
    ['another seed', (f) => (f.attemptSeed = 'lucky'), 'events.0: link must be'],
    ['another learner', (f) => (f.learner = 'Bob'), 'events.0: link must be'],
    ['another answer', (f) => (f.answers['sweeps-40'] = 1901), 'answers.sweeps-40: must be 1900, as the events say'],
    ['an answer of nobody', (f) => (f.answers['why-four'] = 'square'), 'answers.why-four: must be nothing'],
    ['another setting', (f) => (f.settings['planned-seconds'] = 95), 'settings.planned-seconds: must be 12'],
    ['more sure', (f) => (f.confidence['sweeps-40'] = 100), 'confidence.sweeps-40: must be 80'],
    ['a forgotten hint', (f) => (f.hints = []), 'hints: must be those of the events'],
    ['another text', (f) => (f.text = 'Better words.'), 'text: must be those of the events'],
    ['a changed event', (f) => (f.events[3].answer = 1901), 'events.3: link must be'],
    ['a removed event', (f) => f.events.splice(8, 1), 'events.8: link must be'],
    ['events in another order', (f) => f.events.reverse(), 'events.0: link must be'],
    ['another answer key', (f) => (f.lesson.digest = '0123456789abcdef'), 'lesson.digest: must be'],
    ['another version of the lesson', (f) => (f.lesson.version = 7), 'lesson.version: must be 1, got 7'],
    ['another lesson', (f) => (f.lesson.id = 'other'), 'lesson.id: must be quieter-by-the-root, got other'],
    ['no score', (f) => (f.score = null), 'score: must be given'],
  ];
  it.each(forgeries)('finds %s', (_why, forge, problem) => {
    const file = structuredClone(played());
    forge(file);
    expect(problemsOf(file).join('\n')).toContain(problem);
  });

  it('finds an answer after the lock even where all links are right', () => {
    const late: AttemptEvent[] = [
      ...events.slice(0, 6),
      { atS: 9.5, kind: 'answer', question: 'sweeps-80', answer: 1 },
    ];
    const file = played(theLesson, late.slice(0, 6));
    const state = late
      .slice(0, 6)
      .reduce((before, event) => afterEvent(theLesson, before, event), freshState(theLesson));
    const origin = { lesson: theLesson, learner: 'Ada', attempt: 1, attemptSeed: 'seed-1', program: PROGRAM };
    const forged = attemptFile(origin, late, state, null);
    expect(problemsOf(file)).toEqual([]);
    expect(problemsOf(forged)).toEqual(['events.6: answer: must come before predictions are locked, got sweeps-80']);
  });

  it('holds a learner to the seed of the name, and to the number of attempts', () => {
    const lesson = { ...theLesson, hidden: { ...theLesson.hidden, seeds: 'per-learner' as const }, attemptLimit: 1 };
    const file = played(lesson);
    expect(problemsOf(file, lesson)).toEqual([]);
    expect(problemsOf({ ...file, attempt: 2 }, lesson).join('\n')).toMatch(
      /attemptSeed: must be that of Ada[\s\S]*attempt: must be at most 1/,
    );
  });
});

describe('afterEvent refuses', () => {
  const locked = events.slice(0, 6);
  const cases: [why: string, before: readonly AttemptEvent[], event: unknown, message: string][] = [
    ['a question of no lesson', [], { atS: 1, kind: 'answer', question: 'x', answer: 1 }, 'must be to a question'],
    ['a word for a number', [], { atS: 1, kind: 'answer', question: 'sweeps-80', answer: 'x' }, 'answered in its kind'],
    [
      'a number without end',
      [],
      { atS: 1, kind: 'answer', question: 'sweeps-80', answer: NaN },
      'answered in its kind',
    ],
    ['the bench before the lock', [], { atS: 1, kind: 'bench', run: 'ines' }, 'needs locked predictions'],
    ['a run that is not there', locked, { atS: 10, kind: 'bench', run: 'x' }, 'must be a run for the bench'],
    ['the truth before a run', locked, { atS: 10, kind: 'unseal' }, 'needs a run on the bench'],
    ['an answer before the truth', locked, { atS: 10, kind: 'answer', question: 'slope', answer: -0.5 }, 'broken seal'],
    ['a setting out of bounds', [], { atS: 1, kind: 'setting', setting: 'planned-seconds', value: 999 }, '10 to 200 s'],
    ['a setting of no lesson', [], { atS: 1, kind: 'setting', setting: 'x', value: 9 }, 'must be of this lesson'],
    ['too sure', [], { atS: 1, kind: 'confidence', question: 'sweeps-80', percent: 101 }, '0 to 100 %'],
    ['half a hint', [], { atS: 1, kind: 'hint', hint: 0.5 }, 'must be the number of a hint'],
    ['a time before the beginning', [], { atS: -1, kind: 'lock' }, 'atS must be seconds'],
    ['no time', [], { kind: 'lock' }, 'atS must be seconds'],
    ['an end without truth', locked, { atS: 10, kind: 'finish' }, 'needs the broken seal'],
    ['anything after the end', events, { atS: 100, kind: 'lock' }, 'must come before the end'],
    ['an unknown kind', [], { atS: 1, kind: 'cheat' }, 'must be a known kind of event, got cheat'],
  ];
  it.each(cases)('%s', (_why, before, event, message) => {
    const state = before.reduce((now, each) => afterEvent(theLesson, now, each), freshState(theLesson));
    expect(() => afterEvent(theLesson, state, event as AttemptEvent)).toThrow(message);
  });

  it('an answer after the time limit, but not the end', () => {
    const lesson = { ...theLesson, timeLimitMinutes: 1 };
    const state = events.slice(0, 7).reduce((now, each) => afterEvent(lesson, now, each), freshState(lesson));
    const open = afterEvent(lesson, state, { atS: 59, kind: 'unseal' });
    const late = { atS: 61, kind: 'answer', question: 'slope', answer: -0.5 } as const;
    expect(() => afterEvent(lesson, open, late)).toThrow('must come within 1 minutes, got 61 s');
    expect(afterEvent(lesson, open, { atS: 400, kind: 'finish' }).finished).toBe(true);
  });
});

describe('readAttemptFile refuses', () => {
  const cases: [why: string, text: string, message: RegExp][] = [
    ['no JSON', 'hello', /^a\.json: must be JSON/],
    ['nothing', '', /^a\.json: must be JSON/],
    ['another document', '{"format": "other"}', /^a\.json: /],
    ['a list', '[]', /^a\.json: file: must be object/],
    ['null', 'null', /^a\.json: file: must be object/],
    ['an unknown key', JSON.stringify({ ...played(), extra: 1 }), /^a\.json: extra: Unexpected property/],
    ['a later format', JSON.stringify({ ...played(), formatVersion: 2 }), /^a\.json: formatVersion: must be 1, got 2/],
  ];
  it.each(cases)('%s', (_why, text, message) => {
    expect(() => readAttemptFile('a.json', text)).toThrow(AttemptError);
    expect(() => readAttemptFile('a.json', text)).toThrow(message);
  });
});
