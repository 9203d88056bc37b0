import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parse } from 'yaml';
import type { LineHz } from '../../src/lessons/atLine.ts';
import { readLessonText } from '../../src/lessons/lessonText.ts';
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
  return parse(lessonText(slug, 'lesson.yaml'));
}

/** A lesson, checked. */
export function lesson(slug: string, lineHz: LineHz = 50): Lesson {
  return readLessonText(lessonText(slug, 'lesson.yaml'), `lessons/${slug}/lesson.yaml`, lineHz);
}
