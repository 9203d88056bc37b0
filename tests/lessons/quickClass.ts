import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { stringify } from 'yaml';
import { version } from '../../package.json';
import { attemptFile } from '../../src/lessons/attemptFile.ts';
import { type AttemptEvent, afterEvent, attemptOf, freshState } from '../../src/lessons/attemptLog.ts';
import { lessonText } from './lessonFolders.ts';
import { markNow } from './marking.ts';
import { quickLesson } from './quickLesson.ts';

/** Writes a folder with a quick lesson, and one with three good attempts at it. */
export function writeQuickClass(folder: string): { lessonFolder: string; attempts: string } {
  const lessonFolder = join(folder, 'quieter-by-the-root');
  const attempts = join(folder, 'attempts');
  mkdirSync(lessonFolder);
  mkdirSync(attempts);
  const lesson = quickLesson();
  const { lineHz: _picked, ...document } = lesson;
  writeFileSync(join(lessonFolder, 'lesson.yaml'), stringify(document));
  for (const file of ['introduction.md', 'tasks.md', 'hints.md', 'model-answer.md', 'design.md']) {
    writeFileSync(join(lessonFolder, file), lessonText('quieter-by-the-root', file));
  }
  for (const [learner, slope] of [
    ['Ada', -0.5],
    ['Bo', -1],
    ['Cy', -0.55],
  ] as const) {
    const events: AttemptEvent[] = [
      { atS: 1, kind: 'answer', question: 'sweeps-80', answer: 480 },
      { atS: 2, kind: 'lock' },
      { atS: 3, kind: 'bench', run: 'ines' },
      { atS: 4, kind: 'unseal' },
      { atS: 5, kind: 'answer', question: 'slope', answer: slope },
      { atS: 6, kind: 'answer', question: 'scatter', answer: 'wild' },
      { atS: 7, kind: 'text', text: 'Powers add, says <b>me</b>.' },
      { atS: 8, kind: 'finish' },
    ];
    const state = events.reduce((before, event) => afterEvent(lesson, before, event), freshState(lesson));
    const mark = markNow(lesson, attemptOf(state, learner), new Map());
    const file = attemptFile(
      { lesson, learner, attempt: 1, attemptSeed: learner, program: version },
      events,
      state,
      mark,
    );
    writeFileSync(join(attempts, `${learner}.json`), JSON.stringify(file));
  }
  return { lessonFolder, attempts };
}
