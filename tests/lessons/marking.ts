import type { RunCache, RunMeasure } from '../../src/lessons/hiddenRuns.ts';
import { cacheKey, measureRun } from '../../src/lessons/hiddenRuns.ts';
import { type Attempt, type LessonMark, markAttempt } from '../../src/lessons/mark.ts';
import type { Lesson } from '../../src/lessons/schema.ts';

/** Time for a test that marks attempts: some ten seconds each on an idle core, several times that on a busy one. */
export const SLOW = { timeout: 240_000 };

/** Marks an attempt to the end. */
export function markNow(lesson: Lesson, attempt: Attempt, cache: RunCache): LessonMark {
  const marking = markAttempt(lesson, attempt, cache);
  let step = marking.next();
  while (!step.done) step = marking.next();
  return step.value;
}

/** The measure of a run that an earlier marking with this seed and these settings has left in the cache. */
export function measured(lesson: Lesson, runId: string, attempt: Attempt, cache: RunCache): RunMeasure {
  const run = lesson.runs.find(({ id }) => id === runId);
  const measure = run && cache.get(cacheKey(lesson, run, attempt.settings, attempt.attemptSeed));
  if (!measure) throw new Error(`measured: run must have been marked, got ${runId}`);
  return measure;
}

/** Measures some lanes of a run, whether marks need them or not; `readings` also reads peaks off their averages. */
export function measureNow(
  lesson: Lesson,
  runId: string,
  attempt: Attempt,
  lanes: readonly string[],
  readings = false,
): RunMeasure {
  const run = lesson.runs.find(({ id }) => id === runId);
  if (!run) throw new Error(`measureNow: must be a run of ${lesson.id}, got ${runId}`);
  const running = measureRun(lesson, run, attempt.settings, attempt.attemptSeed, new Set(lanes), readings);
  let step = running.next();
  while (!step.done) step = running.next();
  return step.value;
}

/** A lane of a measure by its id. */
export function laneOf(measure: RunMeasure, id: string) {
  const lane = measure.lanes.find((entry) => entry.id === id);
  if (!lane) throw new Error(`laneOf: must be a lane of ${measure.runId}, got ${id}`);
  return lane;
}

/**
 * A figure over patients with its standard error, by leaving out one patient at a time.
 *
 *     SE² = (n − 1)/n · Σ (figure without r − their mean)²
 *
 * Source: M. H. Quenouille 1956, J. W. Tukey 1958; any text on the jackknife.
 */
export function jackknife(count: number, figure: (kept: number[]) => number): { value: number; error: number } {
  const all = Array.from({ length: count }, (_, r) => r);
  const without = all.map((left) => figure(all.filter((r) => r !== left)));
  const mean = without.reduce((sum, value) => sum + value, 0) / count;
  const squares = without.reduce((sum, value) => sum + (value - mean) * (value - mean), 0);
  return { value: figure(all), error: Math.sqrt(((count - 1) / count) * squares) };
}
