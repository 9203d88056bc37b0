import { describe, expect, it } from 'vitest';
import { attemptFile } from '../../src/lessons/attemptFile.ts';
import { freshState } from '../../src/lessons/attemptLog.ts';
import { classReport, classRows, type MarkedAttempt } from '../../src/lessons/classReport.ts';
import type { LessonMark } from '../../src/lessons/mark.ts';
import type { Answers } from '../../src/lessons/markQuestion.ts';
import { quickLesson } from './quickLesson.ts';

const theLesson = quickLesson();

/** An attempt with the points and answers that are wanted: the report only counts. */
function attempt(points: number, scatter: number, answers: Answers): MarkedAttempt {
  const line = (id: string, outOf: number, got: number) => ({
    id,
    text: id,
    points: got,
    outOf,
    answer: 'given',
    finding: '',
    rule: '',
  });
  const mark: LessonMark = {
    points,
    hints: { count: 0, cost: 0 },
    parts: [
      { part: 'measurements', points: scatter, outOf: 6, marks: [line('scatter', 6, scatter)] },
      { part: 'outcome', points: points - scatter, outOf: 94, marks: [line('quiet-for-most', 94, points - scatter)] },
    ],
    report: { title: '', targetNv: 40, patientCount: 3, seconds: 1, strategies: [] },
  };
  const origin = { lesson: theLesson, learner: `L${points}`, attempt: 1, attemptSeed: 's', program: 'x' };
  const state = { ...freshState(theLesson), answers: answers as Record<string, string> };
  return { file: attemptFile(origin, [], state, mark), mark };
}

const four = [
  attempt(20, 0, { scatter: 'wild' }),
  attempt(40, 0, { scatter: 'wild' }),
  attempt(60, 6, { scatter: 'fifth' }),
  attempt(100, 6, { scatter: 'fifth' }),
];

describe('classReport', () => {
  const report = classReport(theLesson, four);

  it('gives the distribution of points', () => {
    expect(report.quartiles).toEqual([20, 35, 50, 70, 100]);
    expect(report.histogram).toEqual([0, 0, 1, 0, 1, 0, 1, 0, 0, 1]);
    expect(report.parts.map(({ mean }) => mean)).toEqual([3, 52]);
  });

  it('gives difficulty and discrimination of each item', () => {
    const [scatter] = report.items;
    expect(scatter.difficulty).toBe(0.5);
    // By hand: points 0 0 6 6 against 20 40 54 94: r = 132 / (6 · √2936).
    expect(scatter.discrimination).toBeCloseTo(264 / (6 * Math.sqrt(2936)), 12);
  });

  it('counts wrong options, and not the right ones', () => {
    const wild = expect.stringContaining('Wildly');
    expect(report.misconceptions).toEqual([{ question: expect.any(String), text: wild, count: 2, of: 4 }]);
  });

  it('has nothing to say of nobody, without failing', () => {
    const empty = classReport(theLesson, []);
    expect(empty.attemptCount).toBe(0);
    expect(empty.quartiles).toEqual([NaN, NaN, NaN, NaN, NaN]);
    expect(classRows([])).toEqual([]);
  });

  it('makes one row for each attempt, with every item', () => {
    const [header, first] = classRows(four);
    expect(header.slice(-4)).toEqual(['measurements', 'outcome', 'scatter', 'quiet-for-most']);
    expect(first.slice(-4)).toEqual([0, 20, 0, 20]);
    expect(first[header.indexOf('learner')]).toBe('L20');
  });
});
