import { describe, expect, it } from 'vitest';
import { classesOf, textsOf, type VerifiedFile, verifyFiles } from '../../src/lessons/attemptClass.ts';
import { attemptFile } from '../../src/lessons/attemptFile.ts';
import { freshState } from '../../src/lessons/attemptLog.ts';
import type { LessonMark } from '../../src/lessons/mark.ts';
import { quickLesson } from './quickLesson.ts';

const theLesson = quickLesson();
const mark: LessonMark = {
  points: 50,
  hints: { count: 0, cost: 0 },
  parts: [],
  report: { title: '', targetNv: 40, patientCount: 3, seconds: 1, strategies: [] },
};

function verified(name: string, learner: string, attempt: number, problems: string[] = []): VerifiedFile {
  const origin = { lesson: theLesson, learner, attempt, attemptSeed: 's', program: 'x' };
  const file = attemptFile(origin, [], { ...freshState(theLesson), text: `By ${learner}.` }, mark);
  return { name, file, lesson: theLesson, verification: { problems, notes: [], mark } };
}

describe('classesOf', () => {
  const { lessons, left, notes } = classesOf([
    verified('a', 'Ada', 1),
    verified('b', 'Bo', 1, ['score.points: must be 9, got 99', 'another']),
    verified('c', ' ada ', 1),
    verified('d', 'Ada', 2),
    verified('e', '', 1),
    verified('f', '', 1),
  ]);

  it('leaves out what is not what it claims, with every reason', () => {
    expect(lessons).toHaveLength(1);
    expect(lessons[0].attempts.map(({ file }) => file.learner)).toEqual(['Ada', ' ada ', 'Ada', '', '']);
    expect(left).toEqual([{ name: 'b', reasons: ['score.points: must be 9, got 99', 'another'] }]);
  });

  it('notes who handed in one attempt twice, but not those without a name', () => {
    expect(notes).toEqual([expect.stringMatching(/^c: ada, attempt 1 at .* is in a as well/)]);
  });

  it('gives the texts with the rubric under each', () => {
    expect(textsOf(lessons[0]).split(theLesson.essay.rubric[0])).toHaveLength(6);
  });
});

describe('verifyFiles', () => {
  it('a file that cannot be read, is no attempt or has no lesson hides none of the others', () => {
    const other = JSON.stringify({ ...verified('x', 'Ada', 1).file });
    const found = [
      { name: 'gone', text: { problem: 'gone: cannot be read' } },
      { name: 'broken', text: '{' },
      { name: 'other', text: other },
    ];
    const lessonOf = () => {
      throw new RangeError('lesson: must be known');
    };
    const running = verifyFiles(found, lessonOf, 'x');
    const fractions: number[] = [];
    let step = running.next();
    for (; !step.done; step = running.next()) fractions.push(step.value.fraction);
    const problems = step.value.map(({ verification }) => verification.problems[0]);
    expect(problems[0]).toBe('gone: cannot be read');
    expect(problems[1]).toContain('broken: must be JSON');
    expect(problems[2]).toBe('lesson: must be known');
    expect(fractions).toEqual([0, 1 / 3, 2 / 3]);
  });
});
