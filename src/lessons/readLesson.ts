import type { TSchema } from '@sinclair/typebox';
import { Value, type ValueError } from '@sinclair/typebox/value';
import { atLine, type LineHz } from './atLine.ts';
import type { Refuse } from './figureRules.ts';
import { checkLessonRules } from './lessonRules.ts';
import { type Lesson, lessonSchema } from './schema.ts';

/** Refusal of a lesson: one line that names file, key, rule and value. */
export class LessonError extends RangeError {}

/** Where and for which supply a document is read. */
export interface LessonPlace {
  lineHz?: LineHz;
  /** Line of the file on which the key stands; without it, refusals name no line. */
  lineOf?: (keys: readonly string[]) => number;
}

/**
 * Checks a lesson document, key by key and then its parts against each other.
 *
 * @param document - the parsed YAML or JSON   @param file - named in the refusal, for instance `lessons/x/lesson.yaml`
 * @throws {LessonError} for an unknown key, a bad value, a name that leads nowhere, or points that do not add up
 */
export function readLesson(document: unknown, file: string, { lineHz = 50, lineOf }: LessonPlace = {}): Lesson {
  const where = (path: string) => (lineOf ? `${file}:${lineOf(path.split(/[. ]/))}` : file);
  const refuse: Refuse = (path, rule, ...values) => {
    const got = values.map((value) => `, got ${shownValue(value)}`).join('');
    throw new LessonError(`${where(path)}: ${path}: ${rule}${got}`);
  };
  const picked = atLine(document, lineHz);
  if (typeof picked === 'object' && picked !== null && !Array.isArray(picked)) {
    if (Object.hasOwn(picked, 'lineHz')) refuse('lineHz', 'must not be written: a lesson is read for both supplies');
    (picked as { lineHz: number }).lineHz = lineHz;
  }
  const error = Value.Errors(lessonSchema, picked).First();
  if (error) {
    const { path, text } = refusalOf(error);
    throw new LessonError(`${where(path)}: ${path}: ${text}`);
  }
  const lesson = picked as Lesson;
  checkLessonRules(lesson, refuse);
  return lesson;
}

/** The key that tells the members of a union apart, in the order of trial. */
const DISCRIMINATORS = ['kind', 'figure'];

/** Says what a schema refuses and where; inside a union, what is wrong with the member that the value means to be. */
export function refusalOf(error: ValueError): { path: string; text: string } {
  const path = error.path.slice(1).replaceAll('/', '.') || 'lesson';
  const { schema, value } = error;
  const members = schema.anyOf as TSchema[] | undefined;
  if (members) {
    const key = DISCRIMINATORS.find((name) => members.every((member) => member.properties?.[name]));
    if (key) {
      const names = members.map((member) => member.properties[key].const);
      const meant = names.indexOf((value as Record<string, unknown> | null)?.[key]);
      const choices = `must be one of ${names.join(', ')}, got ${shownValue(ofKey(value, key))}`;
      if (meant < 0) return { path: `${path}.${key}`, text: choices };
      const inner = error.errors[meant]?.First();
      if (inner) return refusalOf(inner);
    }
    const literals = members.filter((member) => member.const !== undefined).map((member) => member.const);
    const rule = literals.length === members.length ? literals.join(' or ') : (schema.description ?? 'another kind');
    return { path, text: `must be ${rule}, got ${shownValue(value)}` };
  }
  if (error.message.startsWith('Unexpected property')) return { path, text: `unknown key, got ${shownValue(value)}` };
  if (error.message.startsWith('Expected required property')) return { path, text: 'must be given, got nothing' };
  const rule = schema.pattern ? schema.description : error.message.replace(/^Expected /, '');
  return { path, text: `must be ${rule}, got ${shownValue(value)}` };
}

function ofKey(value: unknown, key: string): unknown {
  return typeof value === 'object' && value !== null ? (value as Record<string, unknown>)[key] : value;
}

/** A value as a refusal shows it: short, and never nothing at all. */
export function shownValue(value: unknown): string {
  if (value === undefined) return 'nothing';
  if (typeof value === 'number') return String(value);
  const text = JSON.stringify(value);
  return text.length > 60 ? `${text.slice(0, 57)}…` : text;
}
