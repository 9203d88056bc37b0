import { readLesson } from '../../lessons/readLesson.ts';
import type { Lesson } from '../../lessons/schema.ts';

/** A lesson with its texts, as the page shows it. */
export interface LibraryLesson {
  lesson: Lesson;
  introduction: string;
  tasks: string;
  /** One text for each hint, in the order in which they may be opened. */
  hints: string[];
}

// Put into the page when it is built: the lab works without a network.
const documents = import.meta.glob<unknown>('../../../lessons/*/lesson.json', { eager: true, import: 'default' });
const texts = import.meta.glob<string>('../../../lessons/*/{introduction,tasks,hints}.md', {
  eager: true,
  import: 'default',
  query: '?raw',
});

/**
 * Reads every lesson of the lab, shortest list of prerequisites first.
 *
 * @throws {LessonError} if a lesson is refused; a test holds that none is
 */
export function lessonLibrary(): LibraryLesson[] {
  return Object.entries(documents)
    .map(([path, document]) => {
      const folder = path.slice(0, path.lastIndexOf('/'));
      const text = (file: string) => texts[`${folder}/${file}.md`] ?? '';
      return {
        lesson: readLesson(document, path.slice(path.indexOf('lessons/'))),
        introduction: text('introduction'),
        tasks: text('tasks'),
        hints: hintsOf(text('hints')),
      };
    })
    .sort((a, b) => a.lesson.prerequisites.length - b.lesson.prerequisites.length || order(a, b));
}

/** Splits a Markdown list into its items. */
function hintsOf(text: string): string[] {
  return text
    .split(/^- /m)
    .slice(1)
    .map((item) => item.trim());
}

function order(a: LibraryLesson, b: LibraryLesson): number {
  // The lesson that rests on nothing but statistics comes first, then by name.
  const first = 'quieter-by-the-root';
  return Number(b.lesson.id === first) - Number(a.lesson.id === first) || a.lesson.id.localeCompare(b.lesson.id);
}
