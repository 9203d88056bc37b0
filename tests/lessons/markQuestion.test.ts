import { describe, expect, it } from 'vitest';
import type { FigureSource } from '../../src/lessons/figureParts.ts';
import { markAttempt } from '../../src/lessons/mark.ts';
import { type Answer, markOutcome, markQuestion } from '../../src/lessons/markQuestion.ts';
import type { Question } from '../../src/lessons/schema.ts';
import { lesson } from './lessonFolders.ts';

// Figures that need no simulation: a setting, and the lock distance of a rate.
const theLesson = lesson('which-beat-to-march-to');
const source: FigureSource = { lesson: theLesson, settings: { rate: 20, jitter: 0 }, measures: new Map() };
const rate = { figure: 'setting', setting: 'rate' } as const;
const lock = (ratePerS: number) => ({ figure: 'lock-distance', ratePerS, lineHz: 50, harmonics: 1 }) as const;
const common = { id: 'q', text: 'What?', points: 10 };

const number: Question = { ...common, kind: 'number', unit: '1/s', figure: rate, scale: 0.35 };
const choice: Question = {
  ...common,
  kind: 'choice',
  figure: rate,
  options: [
    { id: 'slow', text: 'slow', to: 20 },
    { id: 'fast', text: 'fast', from: 20, to: 30 },
    { id: 'odd', text: 'odd' },
  ],
};
const unforeseen: Question = { ...choice, options: [{ id: 'slow', text: 'slow', to: 1 }, choice.options[2]] };
const ranking: Question = {
  ...common,
  kind: 'ranking',
  tie: 0,
  items: [
    { id: 'half', text: '20/s', figure: lock(20) },
    { id: 'whole', text: '25/s', figure: lock(25) },
    { id: 'near', text: '27.7/s', figure: lock(27.7) },
  ],
};
const yesNo: Question = { ...common, kind: 'yes-no', atLeast: 0.1, items: ranking.items };

describe('markQuestion', () => {
  const cases: [why: string, question: Question, answer: Answer | undefined, points: number][] = [
    ['a right number', number, 20, 10],
    ['no number', number, undefined, 0],
    ['text for a number', number, '20', 0],
    ['the option whose range holds the figure, its lower end included', choice, 'fast', 10],
    ['the option whose upper end is the figure', choice, 'slow', 0],
    ['an option without a range', choice, 'odd', 0],
    ['an option that is not there', choice, 'other', 0],
    ['no option', choice, undefined, 0],
    ['a figure that no option foresaw: full points to everyone', unforeseen, undefined, 10],
    ['the right order, lowest first', ranking, ['whole', 'near', 'half'], 10],
    ['one pair of three wrong', ranking, ['near', 'whole', 'half'], 3.3],
    ['an order with an item twice', ranking, ['whole', 'whole', 'half'], 0],
    ['an order with one missing', ranking, ['whole', 'near'], 0],
    ['all yes and no right', yesNo, { half: true, whole: false, near: true }, 10],
    ['two of three right', yesNo, { half: true, whole: true, near: true }, 3.3],
    ['one left open', yesNo, { half: true, whole: false }, 0],
  ];
  it.each(cases)('%s', (_why, question, answer, points) => {
    const mark = markQuestion(question, answer, source);
    expect(mark.points).toBe(points);
    expect(mark.outOf).toBe(10);
    for (const words of [mark.answer, mark.finding, mark.rule]) expect(words).not.toBe('');
  });

  it('says the number that decided and the rule in words', () => {
    expect(markQuestion(choice, 'slow', source)).toMatchObject({
      answer: 'slow',
      finding: 'your stimulus rate: 20 1/s',
      rule: 'right is “fast”, because the figure is from 20 to 30',
    });
  });
});

describe('markOutcome', () => {
  it('gives points in proportion between none and full', () => {
    const rule = { ...common, figure: rate, full: 30, none: 10 };
    expect(markOutcome(rule, source)).toMatchObject({
      points: 5,
      rule: 'all 10 at 30 or more, none at 10 or less, in proportion between',
    });
  });
});

describe('markAttempt', () => {
  const cases = [
    [{ rate: 31 }, 'jitter must be from 0 to 11 ms, got undefined'],
    [{ rate: 5, jitter: 0 }, 'rate must be from 10 to 45 1/s, got 5'],
    [{ rate: NaN, jitter: 0 }, 'rate must be from 10 to 45 1/s, got NaN'],
    [{ rate: 31, jitter: 0, luck: 1 }, 'has no setting of that name, got luck'],
  ] as const;
  it.each(cases)('refuses settings %j: %s', (settings, message) => {
    const marking = markAttempt(theLesson, { attemptSeed: '1', settings: { ...settings }, answers: {} });
    expect(() => marking.next()).toThrow(message);
  });
});
