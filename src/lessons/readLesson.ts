import type { TSchema } from '@sinclair/typebox';
import { Value, type ValueError } from '@sinclair/typebox/value';
import { averagingStrategies } from '../core/averaging/index.ts';
import { scenarioSchema } from '../core/scenario/schema.ts';
import { scenarioOf } from './lessonRun.ts';
import { type Figure, type Lesson, lessonSchema, PART_POINTS, type Question, type Run } from './schema.ts';

/** Refusal of a lesson: one line that names file, key, rule and value. */
export class LessonError extends RangeError {}

/**
 * Checks a lesson document, key by key and then its parts against each other.
 *
 * @param document - the parsed JSON   @param file - named in the refusal, for instance `lessons/x/lesson.json`
 * @throws {LessonError} for an unknown key, a bad value, a name that leads nowhere, or points that do not add up
 */
export function readLesson(document: unknown, file: string): Lesson {
  const error = Value.Errors(lessonSchema, document).First();
  if (error) throw new LessonError(`${file}: ${describe(error)}`);
  const lesson = document as Lesson;
  const refuse: Refuse = (path, rule, ...values) => {
    const got = values.map((value) => `, got ${shown(value)}`).join('');
    throw new LessonError(`${file}: ${path}: ${rule}${got}`);
  };
  checkSettings(lesson, refuse);
  checkRuns(lesson, refuse);
  checkQuestions(lesson, refuse);
  checkRules(lesson, refuse);
  return lesson;
}

type Refuse = (path: string, rule: string, ...values: unknown[]) => never;

/** The key that tells the members of a union apart, in the order of trial. */
const DISCRIMINATORS = ['kind', 'figure'];

/** Says what is wrong; inside a union, what is wrong with the member that the value means to be. */
function describe(error: ValueError): string {
  const path = error.path.slice(1).replaceAll('/', '.') || 'lesson';
  const { schema, value } = error;
  const members = schema.anyOf as TSchema[] | undefined;
  if (members) {
    const key = DISCRIMINATORS.find((name) => members.every((member) => member.properties?.[name]));
    if (key) {
      const names = members.map((member) => member.properties[key].const);
      const meant = names.indexOf((value as Record<string, unknown> | null)?.[key]);
      if (meant < 0) return `${path}.${key}: must be one of ${names.join(', ')}, got ${shown(ofKey(value, key))}`;
      const inner = error.errors[meant]?.First();
      if (inner) return describe(inner);
    }
    const literals = members.filter((member) => member.const !== undefined).map((member) => member.const);
    const rule = literals.length === members.length ? literals.join(' or ') : (schema.description ?? 'another kind');
    return `${path}: must be ${rule}, got ${shown(value)}`;
  }
  if (error.message.startsWith('Unexpected property')) return `${path}: unknown key, got ${shown(value)}`;
  if (error.message.startsWith('Expected required property')) return `${path}: must be given, got nothing`;
  if (schema.pattern) return `${path}: must be ${schema.description}, got ${shown(value)}`;
  return `${path}: must be ${error.message.replace(/^Expected /, '')}, got ${shown(value)}`;
}

function ofKey(value: unknown, key: string): unknown {
  return typeof value === 'object' && value !== null ? (value as Record<string, unknown>)[key] : value;
}

function shown(value: unknown): string {
  if (value === undefined) return 'nothing';
  if (typeof value === 'number') return String(value);
  const text = JSON.stringify(value);
  return text.length > 60 ? `${text.slice(0, 57)}…` : text;
}

function checkSettings(lesson: Lesson, refuse: Refuse): void {
  unique(lesson.settings, 'settings', refuse);
  for (const [k, { path, minimum, maximum, start }] of lesson.settings.entries()) {
    let schema: TSchema | undefined = scenarioSchema;
    for (const key of path.split('.')) {
      schema = Object.hasOwn(schema?.properties ?? {}, key) ? schema?.properties[key] : undefined;
    }
    if (schema?.type !== 'number' && schema?.type !== 'integer') {
      refuse(`settings.${k}.path`, 'must be a number of the scenario', path);
    }
    if (!(minimum >= schema?.minimum)) refuse(`settings.${k}.minimum`, `must be >= ${schema?.minimum}`, minimum);
    if (!(maximum <= schema?.maximum)) refuse(`settings.${k}.maximum`, `must be <= ${schema?.maximum}`, maximum);
    if (!(minimum < maximum)) refuse(`settings.${k}.maximum`, `must be > minimum (${minimum})`, maximum);
    if (!(start >= minimum && start <= maximum)) {
      refuse(`settings.${k}.start`, `must be from ${minimum} to ${maximum}`, start);
    }
  }
}

function checkRuns(lesson: Lesson, refuse: Refuse): void {
  unique(lesson.runs, 'runs', refuse);
  const starts = Object.fromEntries(lesson.settings.map(({ id, start }) => [id, start]));
  for (const [k, run] of lesson.runs.entries()) {
    for (const id of run.settings) {
      if (!Object.hasOwn(starts, id)) refuse(`runs.${k}.settings`, 'must name settings of this lesson', id);
    }
    if (run.vary) {
      const { strategy, parameter } = run.vary;
      const found = averagingStrategies.find(({ id }) => id === strategy);
      const strategies = averagingStrategies.map(({ id }) => id).join(', ');
      if (!found) refuse(`runs.${k}.vary.strategy`, `must be one of ${strategies}`, strategy);
      const parameters = Object.keys(found?.parameters.properties ?? {});
      if (!parameters.includes(parameter)) {
        refuse(`runs.${k}.vary.parameter`, `must be one of ${parameters.join(', ') || 'none'}`, parameter);
      }
    }
    try {
      scenarioOf(lesson, run, starts);
    } catch (error) {
      refuse(`runs.${k} (${run.id})`, (error as Error).message);
    }
  }
  if (!lesson.runs.some(({ bench }) => bench)) refuse('runs', 'must have one for the bench', 'none');
  checkLane(lesson, 'report.run', lesson.report.run, averagingStrategies[0].id, refuse);
}

function checkQuestions(lesson: Lesson, refuse: Refuse): void {
  const all: Question[] = [...lesson.predictions, ...lesson.measurements, ...lesson.explanations];
  unique([...all, ...lesson.outcome], 'questions and rules', refuse);
  for (const part of ['predictions', 'measurements', 'explanations'] as const) {
    const sum = lesson[part].reduce((total, { points }) => total + points, 0);
    if (sum !== PART_POINTS[part]) refuse(part, `points must add up to ${PART_POINTS[part]}`, sum);
    for (const [k, question] of lesson[part].entries()) checkQuestion(lesson, `${part}.${k}`, question, refuse);
  }
}

function checkQuestion(lesson: Lesson, path: string, question: Question, refuse: Refuse): void {
  switch (question.kind) {
    case 'number':
      if ((question.scale === undefined) === (question.tolerance === undefined)) {
        refuse(path, 'must have either scale or tolerance', question.scale === undefined ? 'neither' : 'both');
      }
      checkFigure(lesson, `${path}.figure`, question.figure, refuse);
      return;
    case 'choice': {
      checkFigure(lesson, `${path}.figure`, question.figure, refuse);
      unique(question.options, `${path}.options`, refuse);
      const ranges = question.options
        .filter(({ from, to }) => from !== undefined || to !== undefined)
        .map(({ from = -Infinity, to = Infinity }) => ({ from, to }))
        .sort((a, b) => a.from - b.from);
      if (ranges.length === 0) refuse(`${path}.options`, 'at least one must have a range', 'none');
      for (const [k, { from, to }] of ranges.entries()) {
        if (!(from < to)) refuse(`${path}.options`, 'from must be below to', `${from} to ${to}`);
        if (k > 0 && from < ranges[k - 1].to) refuse(`${path}.options`, 'ranges must not overlap', `from ${from}`);
      }
      return;
    }
    case 'yes-no':
      if ((question.atMost === undefined) === (question.atLeast === undefined)) {
        refuse(path, 'must have either atMost or atLeast', question.atMost === undefined ? 'neither' : 'both');
      }
      break;
    case 'ranking':
      break;
    default:
      question satisfies never;
  }
  unique(question.items, `${path}.items`, refuse);
  for (const [k, item] of question.items.entries()) {
    checkFigure(lesson, `${path}.items.${k}.figure`, item.figure, refuse);
  }
}

function checkRules(lesson: Lesson, refuse: Refuse): void {
  const sum = lesson.outcome.reduce((total, { points }) => total + points, 0);
  if (sum !== PART_POINTS.outcome) refuse('outcome', `points must add up to ${PART_POINTS.outcome}`, sum);
  for (const [k, { figure, gain, full, none }] of lesson.outcome.entries()) {
    checkFigure(lesson, `outcome.${k}.figure`, figure, refuse);
    if (gain) checkLane(lesson, `outcome.${k}.gain`, gain.run, gain.lane, refuse);
    if (!(full !== none)) refuse(`outcome.${k}.none`, 'must differ from full', none);
  }
}

function checkFigure(lesson: Lesson, path: string, figure: Figure, refuse: Refuse): void {
  switch (figure.figure) {
    case 'ratio':
      checkFigure(lesson, `${path}.of`, figure.of, refuse);
      checkFigure(lesson, `${path}.to`, figure.to, refuse);
      return;
    case 'setting':
      checkSetting(lesson, `${path}.setting`, figure.setting, refuse);
      return;
    case 'lock-distance':
      if (typeof figure.ratePerS === 'object') {
        checkSetting(lesson, `${path}.ratePerS.setting`, figure.ratePerS.setting, refuse);
      }
      return;
    case 'lowest-noise':
    case 'best-value':
      if (!findRun(lesson, `${path}.run`, figure.run, refuse).vary) {
        refuse(`${path}.run`, 'must be a run with vary', figure.run);
      }
      return;
    default:
      checkLane(lesson, path, figure.run, figure.lane, refuse);
  }
}

function checkSetting(lesson: Lesson, path: string, id: string, refuse: Refuse): void {
  if (!lesson.settings.some((setting) => setting.id === id)) refuse(path, 'must be a setting of this lesson', id);
}

function findRun(lesson: Lesson, path: string, id: string, refuse: Refuse): Run {
  return lesson.runs.find((run) => run.id === id) ?? refuse(path, 'must be a run of this lesson', id);
}

function checkLane(lesson: Lesson, path: string, runId: string, lane: string, refuse: Refuse): void {
  const { vary } = findRun(lesson, path, runId, refuse);
  const lanes = [
    ...averagingStrategies.map(({ id }) => id),
    ...(vary?.values.map((value) => `${vary.strategy}@${value}`) ?? []),
  ];
  if (!lanes.includes(lane)) refuse(path, `lane must be one of ${lanes.join(', ')}`, lane);
}

function unique(entries: readonly { id: string }[], path: string, refuse: Refuse): void {
  const seen = new Set<string>();
  for (const { id } of entries) {
    if (seen.has(id)) refuse(path, 'ids must differ', id);
    seen.add(id);
  }
}
