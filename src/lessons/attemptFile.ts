import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, utf8ToBytes } from '@noble/hashes/utils.js';
import { type Static, Type } from '@sinclair/typebox';
import { Value } from '@sinclair/typebox/value';
import { lineFrequenciesHz } from './atLine.ts';
import type { AttemptEvent, AttemptState } from './attemptLog.ts';
import type { LessonMark } from './mark.ts';
import type { Lesson } from './schema.ts';
import { group, name } from './schemaParts.ts';

const shortText = Type.String({ maxLength: 200 });

/**
 * An attempt as a file: small JSON, from which the whole attempt can be replayed and its score computed again.
 *
 * Every event carries a *link*, a digest of everything before it and of itself. Whoever changes an event, the seed or
 * the learner's name breaks the links; whoever changes the score is found by the simulation. It is no signature: a
 * person who rewrites all links can make another attempt, but only one whose score the simulation agrees with.
 */
const attemptFileSchema = group('an attempt', {
  format: Type.Literal('sweepwise-attempt'),
  formatVersion: Type.Literal(1),
  /** Version of the program that marked it. */
  program: Type.String({ maxLength: 40 }),
  lesson: group('the lesson', {
    id: name,
    version: Type.Integer({ minimum: 1 }),
    /** Digest of the lesson as it was marked, keys and all. */
    digest: Type.String({ pattern: '^[0-9a-f]{16}$' }),
    lineHz: Type.Union(lineFrequenciesHz.map((hz) => Type.Literal(hz))),
  }),
  learner: shortText,
  attempt: Type.Integer({ minimum: 1, maximum: 9999 }),
  attemptSeed: shortText,
  events: Type.Array(
    Type.Object({
      atS: Type.Number({ minimum: 0 }),
      kind: Type.String({ maxLength: 20 }),
      link: Type.String({ pattern: '^[0-9a-f]{16}$' }),
    }),
    { maxItems: 20_000 },
  ),
  settings: Type.Record(Type.String(), Type.Union([Type.Number(), Type.String()])),
  answers: Type.Record(Type.String(), Type.Unknown()),
  confidence: Type.Record(Type.String(), Type.Number()),
  hints: Type.Array(Type.Integer()),
  text: Type.String({ maxLength: 20_000 }),
  /** Null for an attempt that was saved before it was marked. */
  score: Type.Union([
    Type.Null(),
    group('a score', {
      points: Type.Number(),
      hintCost: Type.Number(),
      /** Points of every line by its id. */
      lines: Type.Record(Type.String(), Type.Number()),
    }),
  ]),
});

export type AttemptFile = Static<typeof attemptFileSchema>;
type LinkedEvent = AttemptEvent & { link: string };

/** Refusal of an attempt file: one line that names file, key and rule. */
export class AttemptError extends RangeError {}

/** What identifies an attempt, apart from what was done in it. */
export interface AttemptOrigin {
  lesson: Lesson;
  learner: string;
  attempt: number;
  attemptSeed: string;
  program: string;
}

/** Writes an attempt as a document for JSON. */
export function attemptFile(
  { lesson, learner, attempt, attemptSeed, program }: AttemptOrigin,
  events: readonly AttemptEvent[],
  state: AttemptState,
  mark: LessonMark | null,
): AttemptFile {
  const { id, version, lineHz } = lesson;
  const file = {
    format: 'sweepwise-attempt',
    formatVersion: 1,
    program,
    lesson: { id, version, digest: lessonDigest(lesson), lineHz },
    learner,
    attempt,
    attemptSeed,
  } as const;
  const links = linksOf(file, events);
  return {
    ...file,
    events: events.map((event, k) => ({ ...event, link: links[k] })),
    settings: { ...state.settings },
    answers: { ...state.answers },
    confidence: { ...state.confidence },
    hints: [...state.hints],
    text: state.text,
    score: mark && scoreOf(mark),
  };
}

/** The part of a mark that a file holds: every line's points, and the total. */
export function scoreOf({ points, hints, parts }: LessonMark): NonNullable<AttemptFile['score']> {
  const lines = parts.flatMap(({ marks }) => marks.map((line) => [line.id, line.points] as const));
  return { points, hintCost: hints.cost, lines: Object.fromEntries(lines) };
}

/**
 * Reads the text of an attempt file and checks its shape; `verifyAttempt` checks what it says.
 *
 * @param name - of the file, for refusals   @throws {AttemptError} if it is not JSON or not an attempt
 */
export function readAttemptFile(name: string, text: string): AttemptFile {
  if (text.length > 5_000_000) throw new AttemptError(`${name}: must be a small file, got ${text.length} characters`);
  let document: unknown;
  try {
    document = JSON.parse(text);
  } catch (error) {
    throw new AttemptError(`${name}: must be JSON, got: ${(error as Error).message}`);
  }
  const error = Value.Errors(attemptFileSchema, document).First();
  if (error) {
    const path = error.path.slice(1).replaceAll('/', '.') || 'file';
    const got = JSON.stringify(error.value)?.slice(0, 60) ?? 'nothing';
    throw new AttemptError(`${name}: ${path}: ${error.message.replace(/^Expected /, 'must be ')}, got ${got}`);
  }
  return document as AttemptFile;
}

/** The events of a file, with their links apart. Their keys are checked when they are replayed. */
export function eventsOf({ events }: AttemptFile): { events: AttemptEvent[]; links: string[] } {
  return {
    events: (events as unknown as LinkedEvent[]).map(({ link: _link, ...event }) => event as AttemptEvent),
    links: events.map(({ link }) => link),
  };
}

/** The links that the events of an attempt must have: each a digest of the one before and of the event. */
export function linksOf(file: Omit<AttemptFile, LateKeys>, events: readonly AttemptEvent[]): string[] {
  const { lesson, learner, attempt, attemptSeed, program } = file;
  let link = digest([lesson, learner, attempt, attemptSeed, program]);
  return events.map((event) => {
    link = digest([link, event]);
    return link;
  });
}

type LateKeys = 'events' | 'settings' | 'answers' | 'confidence' | 'hints' | 'text' | 'score';

/** Names a lesson by its content, whatever the order of its keys. */
export function lessonDigest(lesson: Lesson): string {
  return digest(lesson);
}

/** Names any plain value by its content, whatever the order of its keys: 16 hexadecimal digits of its SHA-256. */
export function digest(value: unknown): string {
  return bytesToHex(sha256(utf8ToBytes(JSON.stringify(value, sortedKeys)))).slice(0, 16);
}

function sortedKeys(_key: string, value: unknown): unknown {
  if (typeof value !== 'object' || value === null || Array.isArray(value)) return value;
  return Object.fromEntries(Object.entries(value).sort(([a], [b]) => (a < b ? -1 : 1)));
}
