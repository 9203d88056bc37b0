import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { readLesson } from '../../src/lessons/readLesson.ts';
import type { Lesson } from '../../src/lessons/schema.ts';

const folder = fileURLToPath(new URL('../../lessons', import.meta.url));

/** Names of all lesson folders. */
export const lessonSlugs = readdirSync(folder).sort();

/** Text of a file of a lesson. */
export function lessonText(slug: string, file: string): string {
  return readFileSync(join(folder, slug, file), 'utf8');
}

/** The parsed but unchecked document of a lesson; a new object each time. */
export function lessonDocument(slug: string): Record<string, unknown> {
  return JSON.parse(lessonText(slug, 'lesson.json'));
}

/** A lesson, checked. */
export function lesson(slug: string): Lesson {
  return readLesson(lessonDocument(slug), `lessons/${slug}/lesson.json`);
}
