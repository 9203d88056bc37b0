import { readdirSync, readFileSync, statSync } from 'node:fs';
import { basename, join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { type LineHz, textAtLine } from '../lessons/atLine.ts';
import type { LessonTexts } from '../lessons/handout.ts';
import { LESSON_TEXTS, lessonTextRule } from '../lessons/lessonFiles.ts';
import { readLessonText } from '../lessons/lessonText.ts';
import { LessonError } from '../lessons/readLesson.ts';
import { UsageError } from './arguments.ts';

/** A lesson with all its texts. */
export interface LessonFolder extends LessonTexts {
  hints: string;
}

const ownLessons = fileURLToPath(new URL('../../lessons', import.meta.url));

/** Names of the lessons that come with the lab. */
export function ownLessonSlugs(): string[] {
  return readdirSync(ownLessons).sort();
}

/** Folder of a lesson that comes with the lab. @throws {UsageError} if there is none of that name */
export function ownLessonPath(slug: string): string {
  if (ownLessonSlugs().includes(slug)) return join(ownLessons, slug);
  throw new UsageError(`lesson: must be one of ${ownLessonSlugs().join(', ')}, got "${slug}"`);
}

/** A folder as the user wrote it, or a lesson of the lab by its name. @throws {UsageError} if there is neither */
export function lessonPath(word: string): string {
  for (const path of [word, join(ownLessons, word)]) {
    if (isFolder(path)) return path;
  }
  throw new UsageError(`lesson: must be a folder or one of ${ownLessonSlugs().join(', ')}, got "${word}"`);
}

/**
 * Reads a lesson folder for one supply: manifest and texts.
 *
 * @throws {LessonError} naming file, line, rule and value   @throws {UsageError} for a file that cannot be read
 */
export function readLessonFolder(path: string, lineHz: LineHz): LessonFolder {
  const names = readdirSync(path);
  const manifest = ['lesson.yaml', 'lesson.json'].find((file) => names.includes(file));
  const shown = relative(process.cwd(), path) || path;
  if (manifest === undefined) throw new UsageError(`${shown}: must hold lesson.yaml, got none`);
  const lesson = readLessonText(read(join(path, manifest)), join(shown, manifest), lineHz);
  if (lesson.id !== basename(path)) {
    throw new LessonError(`${join(shown, manifest)}: id must be the name of the folder, got ${lesson.id}`);
  }
  const texts = LESSON_TEXTS.map((file) => {
    if (!names.includes(file)) throw new UsageError(`${shown}: must hold ${file}, got none`);
    const text = textAtLine(read(join(path, file)), lineHz);
    const rule = lessonTextRule(text);
    if (rule !== null) throw new UsageError(`${join(shown, file)}: ${rule}`);
    return text;
  });
  const [introduction, tasks, hints, modelAnswer] = texts;
  return { lesson, introduction, tasks, hints, modelAnswer };
}

function isFolder(path: string): boolean {
  try {
    return statSync(path).isDirectory();
  } catch {
    return false;
  }
}

function read(file: string): string {
  try {
    return readFileSync(file, 'utf8');
  } catch (error) {
    throw new UsageError(`${file}: cannot be read (${(error as NodeJS.ErrnoException).code})`);
  }
}
