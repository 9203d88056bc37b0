import { type LineHz, textAtLine } from '../../lessons/atLine.ts';
import { readLessonText } from '../../lessons/lessonText.ts';
import type { Lesson } from '../../lessons/schema.ts';

/** A lesson with its texts, as the page shows it. */
export interface LibraryLesson {
  lesson: Lesson;
  introduction: string;
  tasks: string;
  modelAnswer: string;
  /** One text for each hint, in the order in which they may be opened. */
  hints: string[];
}

// Put into the page when it is built: the lab works without a network.
const manifests = import.meta.glob<string>('../../../lessons/*/lesson.yaml', {
  eager: true,
  import: 'default',
  query: '?raw',
});
const texts = import.meta.glob<string>('../../../lessons/*/{introduction,tasks,hints,model-answer}.md', {
  eager: true,
  import: 'default',
  query: '?raw',
});

/**
 * Reads every lesson of the lab for a supply of 50 or 60 Hz, in the order of the curriculum.
 *
 * @throws {LessonError} if a lesson is refused; a test holds that none is
 */
export function lessonLibrary(lineHz: LineHz): LibraryLesson[] {
  return Object.entries(manifests)
    .map(([path, manifest]) => {
      const folder = path.slice(0, path.lastIndexOf('/'));
      const text = (file: string) => textAtLine(texts[`${folder}/${file}.md`] ?? '', lineHz);
      return {
        lesson: readLessonText(manifest, path.slice(path.indexOf('lessons/')), lineHz),
        introduction: text('introduction'),
        tasks: text('tasks'),
        modelAnswer: text('model-answer'),
        hints: hintsOf(text('hints')),
      };
    })
    .sort((a, b) => a.lesson.place - b.lesson.place);
}

/** Names and titles of the lessons of the lab, without reading them whole. */
export function lessonTitles(): { id: string; title: string }[] {
  return Object.entries(manifests).map(([path, manifest]) => {
    const id = path.split('/').at(-2) ?? '';
    const title = /^title: *"?(.*?)"?$/m.exec(manifest)?.[1] ?? id;
    return { id, title: textAtLine(title, 50) };
  });
}

/** Manifest and texts of a lesson of the lab as they were written, for both supplies. @throws {RangeError} if unknown */
export function lessonSource(slug: string): { manifest: string; texts: Record<string, string> } {
  const folder = `../../../lessons/${slug}`;
  const manifest = manifests[`${folder}/lesson.yaml`];
  if (manifest === undefined) throw new RangeError(`lessonSource: must be a lesson of the lab, got ${slug}`);
  const own = Object.entries(texts).filter(([path]) => path.startsWith(`${folder}/`));
  return { manifest, texts: Object.fromEntries(own.map(([path, text]) => [path.slice(folder.length + 1), text])) };
}

/** Splits a Markdown list into its items. */
function hintsOf(text: string): string[] {
  return text
    .split(/^- /m)
    .slice(1)
    .map((item) => item.trim());
}
