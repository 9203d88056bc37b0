import { describe, expect, it } from 'vitest';
import { dryRun } from '../../src/lessons/dryRun.ts';
import { lesson, lessonSlugs } from './lessonFolders.ts';
import { SLOW } from './marking.ts';
import { quickLesson } from './quickLesson.ts';

function finished<Result>(running: Generator<unknown, Result>): Result {
  let step = running.next();
  while (!step.done) step = running.next();
  return step.value;
}

// Lessons judged by shares of patients need more than three of them.
const lightPatients: Readonly<Record<string, number>> = { 'tone-by-tone': 5 };

describe('dryRun', () => {
  // Light: one seed, few patients, the players of the verdicts, at one supply or the other. `sweepwise lesson dry-run all` is the whole thing.
  it.each(lessonSlugs.map((slug, k) => [slug, k % 2 === 0 ? 50 : 60] as const))(
    '%s at %d Hz: solvable, discriminating and not won by luck',
    SLOW,
    (slug, lineHz) => {
      const { players, verdicts } = finished(
        dryRun(lesson(slug, lineHz), { seeds: ['light'], patients: lightPatients[slug] ?? 3, judgedOnly: true }),
      );
      expect(players.length).toBe(5);
      const table = players.map(({ id, points }) => `${id} ${points.join(' ')}`).join(', ');
      for (const { holds, text } of verdicts) expect(holds, `${text} (${table})`).toBe(true);
    },
  );

  it('finds a lesson that anybody wins, and one that nobody can', () => {
    const easy = quickLesson();
    easy.players.careless = easy.players.textbook;
    const { players, verdicts } = finished(dryRun(easy, { seeds: ['a'] }));
    expect(players.length).toBeGreaterThanOrEqual(10);
    expect(verdicts.find(({ id }) => id === 'discriminating')?.holds).toBe(false);

    const hard = quickLesson();
    hard.outcome = hard.outcome.map((rule) => ({
      ...rule,
      full: rule.full < rule.none ? -2 : 1e6,
      none: rule.full < rule.none ? -1 : 1e5,
    }));
    expect(finished(dryRun(hard, { seeds: ['a'] })).verdicts.find(({ id }) => id === 'solvable')?.holds).toBe(false);
  });

  it('refuses to run without a seed', () => {
    expect(() => finished(dryRun(quickLesson(), { seeds: [] }))).toThrow('dryRun: needs a seed, got 0');
  });
});
