import { version } from '../../../package.json';
import { lineFrequenciesHz } from '../../lessons/atLine.ts';
import type { FoundFile } from '../../lessons/attemptClass.ts';
import { readAttemptFile } from '../../lessons/attemptFile.ts';
import { readLessonText } from '../../lessons/lessonText.ts';
import type { Lesson } from '../../lessons/schema.ts';
import type { ClassOrder } from '../worker/classFindings.ts';
import { lessonSource, lessonTitles } from './lessonLibrary.ts';

/** A file as somebody chose it: its path within the folder, or its name. */
export interface ChosenText {
  path: string;
  text(): Promise<string>;
}

/**
 * Makes the order for a class report from the files of a folder: `*.json` are attempts, `lesson.yaml` are lessons that
 * do not come with the lab; anything else is passed over.
 *
 * @throws {LessonError} for a lesson that is refused   @throws {RangeError} if there is no attempt among the files
 */
export async function classOrderOf(chosen: readonly ChosenText[]): Promise<ClassOrder> {
  const inOrder = [...chosen].sort((a, b) => (a.path < b.path ? -1 : 1)); // as the terminal takes them
  const files: FoundFile[] = [];
  const own: Lesson[] = [];
  for (const { path, text } of inOrder) {
    if (/(^|\/)lesson\.ya?ml$/i.test(path)) {
      const manifest = await text();
      for (const lineHz of lineFrequenciesHz) own.push(readLessonText(manifest, path, lineHz));
    } else if (/\.json$/i.test(path)) {
      files.push({ name: path, text: await text() });
    }
  }
  if (files.length === 0) throw new RangeError(`files: must have attempts (.json), got none of ${chosen.length}`);
  return { files, lessons: [...own, ...labLessonsOf(files)], program: version };
}

/** Lessons of the lab at which there is an attempt among the files. */
function labLessonsOf(files: readonly FoundFile[]): Lesson[] {
  const asked = new Set(files.flatMap((file) => askedOf(file) ?? []));
  return lessonTitles().flatMap(({ id }) =>
    lineFrequenciesHz.flatMap((lineHz) =>
      asked.has(`${id}@${lineHz}`) ? [readLessonText(lessonSource(id).manifest, id, lineHz)] : [],
    ),
  );
}

/** The lesson that a file names; null if it is no attempt: that is told when it is verified. */
function askedOf({ name, text }: FoundFile): string | null {
  try {
    const { id, lineHz } = readAttemptFile(name, String(text)).lesson;
    return `${id}@${lineHz}`;
  } catch {
    return null;
  }
}
