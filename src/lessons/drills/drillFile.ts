import { type Static, Type } from '@sinclair/typebox';
import { Value } from '@sinclair/typebox/value';
import { lineFrequenciesHz } from '../atLine.ts';
import { AttemptError, digest } from '../attemptFile.ts';
import { group, name } from '../schemaParts.ts';
import { afterDrillEvent, type DrillEvent, type DrillState, freshDrill } from './drillLog.ts';
import type { Drill } from './drillSchema.ts';
import { type DrillMark, markDrill } from './markDrill.ts';

/** One drill as it was done, as a small file. The links work as in an attempt at a lesson (`attemptFile.ts`). */
const drillFileSchema = group('a drill that was done', {
  format: Type.Literal('sweepwise-drill'),
  formatVersion: Type.Literal(1),
  /** Version of the program that marked it. */
  program: Type.String({ maxLength: 40 }),
  drill: group('the drill', {
    id: name,
    version: Type.Integer({ minimum: 1 }),
    digest: Type.String({ pattern: '^[0-9a-f]{16}$' }),
    lineHz: Type.Union(lineFrequenciesHz.map((hz) => Type.Literal(hz))),
  }),
  learner: Type.String({ maxLength: 200 }),
  events: Type.Array(
    Type.Object({
      atS: Type.Number({ minimum: 0 }),
      kind: Type.String({ maxLength: 20 }),
      link: Type.String({ pattern: '^[0-9a-f]{16}$' }),
    }),
    { minItems: 1, maxItems: 2000 },
  ),
  score: group('a score', { points: Type.Number(), lines: Type.Record(Type.String(), Type.Number()) }),
});

export type DrillFile = Static<typeof drillFileSchema>;

/** Writes a drill that was handed in as a document for JSON. */
export function drillFile(
  drill: Drill,
  learner: string,
  program: string,
  events: readonly DrillEvent[],
  mark: DrillMark,
): DrillFile {
  const { id, version, lineHz } = drill;
  const head = { program, drill: { id, version, digest: digest(drill), lineHz }, learner };
  const links = linksOf(head, events);
  return {
    format: 'sweepwise-drill',
    formatVersion: 1,
    ...head,
    events: events.map((event, k) => ({ ...event, link: links[k] })),
    score: scoreOf(mark),
  };
}

/** Reads the text of such a file and checks its shape. @throws {AttemptError} naming file, key, rule and value */
export function readDrillFile(fileName: string, text: string): DrillFile {
  if (text.length > 1_000_000)
    throw new AttemptError(`${fileName}: must be a small file, got ${text.length} characters`);
  let document: unknown;
  try {
    document = JSON.parse(text);
  } catch (error) {
    throw new AttemptError(`${fileName}: must be JSON, got: ${(error as Error).message}`);
  }
  const error = Value.Errors(drillFileSchema, document).First();
  if (!error) return document as DrillFile;
  const path = error.path.slice(1).replaceAll('/', '.') || 'file';
  const got = JSON.stringify(error.value)?.slice(0, 60) ?? 'nothing';
  throw new AttemptError(`${fileName}: ${path}: ${error.message.replace(/^Expected /, 'must be ')}, got ${got}`);
}

/** Replays a drill, marks it again and compares. @returns every disagreement, and the mark computed here */
export function verifyDrill(drill: Drill, file: DrillFile): { problems: string[]; mark: DrillMark | null } {
  const problems: string[] = [];
  if (file.drill.digest !== digest(drill)) {
    problems.push(`drill.digest: must be ${digest(drill)}, got ${file.drill.digest}: another edition of ${drill.id}`);
  }
  const events = (file.events as unknown as (DrillEvent & { link: string })[]).map(
    ({ link: _link, ...event }) => event as DrillEvent,
  );
  const links = linksOf(file, events);
  const altered = file.events.findIndex(({ link }, k) => link !== links[k]);
  if (altered >= 0) problems.push(`events.${altered}: link must be ${links[altered]}: altered here or before`);
  const state = replayed(drill, events, problems);
  if (state === null) return { problems, mark: null };
  if (!state.finished) {
    problems.push('events: must end with finish, got none');
    return { problems, mark: null };
  }
  const marking = markDrill(drill, state);
  let step = marking.next();
  while (!step.done) step = marking.next();
  const score = scoreOf(step.value);
  if (score.points !== file.score.points) {
    problems.push(`score.points: must be ${score.points}, as simulated, got ${file.score.points}`);
  }
  for (const id of new Set([...Object.keys(score.lines), ...Object.keys(file.score.lines)])) {
    const [wanted, got] = [score.lines, file.score.lines].map((lines) => (Object.hasOwn(lines, id) ? lines[id] : null));
    if (wanted !== got) problems.push(`score.lines.${id}: must be ${wanted ?? 'absent'}, got ${got ?? 'nothing'}`);
  }
  return { problems, mark: step.value };
}

function replayed(drill: Drill, events: readonly DrillEvent[], problems: string[]): DrillState | null {
  let state = freshDrill;
  let beforeS = 0;
  for (const [k, event] of events.entries()) {
    if (!(event.atS >= beforeS)) {
      problems.push(`events.${k}: atS must not go back from ${beforeS}, got ${event.atS}`);
      return null;
    }
    beforeS = event.atS;
    try {
      state = afterDrillEvent(drill, state, event);
    } catch (error) {
      problems.push(`events.${k}: ${(error as Error).message}`);
      return null;
    }
  }
  return state;
}

function scoreOf({ points, lines }: DrillMark): DrillFile['score'] {
  return { points, lines: Object.fromEntries(lines.map((line) => [line.id, line.points])) };
}

function linksOf(
  { program, drill, learner }: Pick<DrillFile, 'program' | 'drill' | 'learner'>,
  events: readonly DrillEvent[],
): string[] {
  let link = digest([drill, learner, program]);
  return events.map((event) => {
    link = digest([link, event]);
    return link;
  });
}
