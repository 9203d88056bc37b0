import type { AttemptFile } from './attemptFile.ts';
import type { LessonMark } from './mark.ts';
import type { Lesson, Part, Question } from './schema.ts';

/** A verified attempt with its mark. */
export interface MarkedAttempt {
  file: AttemptFile;
  mark: LessonMark;
}

/** How a class did in one question or rule. */
interface ItemReport {
  id: string;
  part: Part;
  text: string;
  /** Mean share of the points, 0 … 1: high is easy. NaN without attempts. */
  difficulty: number;
  /**
   * Correlation of this item's points with the rest of the score: high where those who are good elsewhere get it.
   * NaN with fewer than three attempts, or where all got the same.
   */
  discrimination: number;
}

/** One wrong answer and how many gave it. */
interface Misconception {
  question: string;
  text: string;
  count: number;
  of: number;
}

export interface ClassReport {
  lesson: string;
  title: string;
  attemptCount: number;
  /** Points of the total: lowest, quartiles, highest. NaN without attempts. */
  quartiles: [number, number, number, number, number];
  /** Attempts in each ten points: 0–9, 10–19, …, 90–100. */
  histogram: number[];
  parts: { part: Part; mean: number; outOf: number }[];
  items: ItemReport[];
  /** Wrong answers, the most frequent first. */
  misconceptions: Misconception[];
}

/** Reports on the verified attempts at one lesson. Every attempt counts, also several of one learner. */
export function classReport(lesson: Lesson, attempts: readonly MarkedAttempt[]): ClassReport {
  const totals = attempts.map(({ mark }) => mark.points);
  const histogram = new Array<number>(10).fill(0);
  for (const points of totals) histogram[Math.min(9, Math.floor(points / 10))]++;
  const template = attempts[0]?.mark.parts ?? [];
  return {
    lesson: lesson.id,
    title: lesson.title,
    attemptCount: attempts.length,
    quartiles: [0, 25, 50, 75, 100].map((percent) => percentile(totals, percent)) as ClassReport['quartiles'],
    histogram,
    parts: template.map(({ part, outOf }, k) => ({
      part,
      outOf,
      mean: mean(attempts.map(({ mark }) => mark.parts[k].points)),
    })),
    items: template.flatMap(({ part, marks }, p) =>
      marks.map(({ id, text, outOf }, k): ItemReport => {
        const points = attempts.map(({ mark }) => mark.parts[p].marks[k].points);
        const rest = attempts.map(({ mark }, a) => sum(mark.parts.map((entry) => entry.points)) - points[a]);
        return {
          id,
          part,
          text,
          difficulty: mean(points) / outOf,
          discrimination: correlation(points, rest),
        };
      }),
    ),
    misconceptions: misconceptions(lesson, attempts),
  };
}

/** Rows for a table: a header, then one row for each attempt. */
export function classRows(attempts: readonly MarkedAttempt[]): (string | number)[][] {
  if (attempts.length === 0) return [];
  const parts = attempts[0].mark.parts;
  const lines = parts.flatMap(({ marks }) => marks.map(({ id }) => id));
  const header = ['lesson', 'version', 'lineHz', 'learner', 'attempt', 'attemptSeed', 'program', 'points', 'hintCost'];
  return [
    [...header, ...parts.map(({ part }) => part), ...lines],
    ...attempts.map(({ file, mark }) => [
      ...[file.lesson.id, file.lesson.version, file.lesson.lineHz, file.learner, file.attempt, file.attemptSeed],
      ...[file.program, mark.points, mark.hints.cost],
      ...mark.parts.map(({ points }) => points),
      ...mark.parts.flatMap(({ marks }) => marks.map(({ points }) => points)),
    ]),
  ];
}

/** Counts wrong options of choices, wrong halves of yes and no, and claims that were picked and do not hold. */
function misconceptions(lesson: Lesson, attempts: readonly MarkedAttempt[]): Misconception[] {
  const questions = [...lesson.predictions, ...lesson.measurements, ...lesson.explanations];
  const tally = new Map<string, Misconception>();
  const count = (question: Question, text: string) => {
    const key = `${question.id}/${text}`;
    const entry = tally.get(key) ?? { question: question.text, text, count: 0, of: attempts.length };
    entry.count++;
    tally.set(key, entry);
  };
  for (const { file, mark } of attempts) {
    const lines = mark.parts.flatMap(({ marks }) => marks);
    for (const question of questions) {
      const answer = file.answers[question.id];
      const line = lines.find(({ id }) => id === question.id);
      if (answer === undefined || !line || line.points >= line.outOf) continue;
      if (question.kind === 'choice') {
        const option = question.options.find(({ id }) => id === answer);
        if (option) count(question, option.text);
      } else if (question.kind !== 'number') {
        count(question, line.answer);
      }
    }
  }
  return [...tally.values()].sort((a, b) => b.count - a.count);
}

function percentile(values: readonly number[], percent: number): number {
  const ordered = [...values].sort((a, b) => a - b);
  const place = ((ordered.length - 1) * percent) / 100;
  const below = ordered[Math.floor(place)];
  const above = ordered[Math.ceil(place)];
  return below + (above - below) * (place - Math.floor(place));
}

/** Pearson's correlation; NaN where either has no spread. */
function correlation(x: readonly number[], y: readonly number[]): number {
  if (x.length < 3) return NaN;
  const meanX = mean(x);
  const meanY = mean(y);
  let products = 0;
  let squaresX = 0;
  let squaresY = 0;
  for (let k = 0; k < x.length; k++) {
    products += (x[k] - meanX) * (y[k] - meanY);
    squaresX += (x[k] - meanX) * (x[k] - meanX);
    squaresY += (y[k] - meanY) * (y[k] - meanY);
  }
  return products / Math.sqrt(squaresX * squaresY);
}

function mean(values: readonly number[]): number {
  return sum(values) / values.length;
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}
