import { withFewerPatients } from '../../src/lessons/dryRun.ts';
import type { Lesson } from '../../src/lessons/schema.ts';
import { lesson } from './lessonFolders.ts';

/** The first lesson with three patients of a few seconds: for tests of the machinery, where no figure matters. */
export function quickLesson(): Lesson {
  const quick = structuredClone(withFewerPatients(lesson('quieter-by-the-root'), 3));
  quick.runs = quick.runs.map((run) => ({
    ...run,
    strategies: ['plain-mean', 'block-weighting'],
    change: { ...run.change, ...(run.settings.length === 0 ? { 'session.durationS': 8 } : {}) },
  }));
  return quick;
}
