import type { TSchema } from '@sinclair/typebox';
import { averagingStrategy } from '../core/averaging/index.ts';
import type { AveragingStrategy } from '../core/averaging/strategy.ts';
import { exp, log } from '../core/elementary.ts';
import { stream } from '../core/random/stream.ts';
import { latinHypercube } from './latinHypercube.ts';
import type { Competitor, Range, Scalar, StudyDocument } from './schema.ts';
import { StudyError } from './studyError.ts';

/** One competitor of a study: a strategy with one choice of parameters. The scenario gives those not named. */
export interface Setting {
  /** Unique within the study, for people and tables: `block-weighting blockLength=16`. */
  id: string;
  strategy: string;
  parameters: Record<string, Scalar>;
  /** Flagged sweeps never reach it. */
  flagAware: boolean;
}

const DEFAULT_POINTS = 5;

/**
 * Works out the settings that compete, in the order of the study file.
 *
 * @throws {StudyError} for an unknown strategy or parameter, a value out of bounds, or two settings of one name
 */
export function settingsOf(study: StudyDocument, outside: ReadonlyMap<string, AveragingStrategy>): Setting[] {
  const settings = study.strategies.flatMap((competitor, k) =>
    settingsOfOne(study, competitor, `strategies.${k}`, outside),
  );
  for (const [k, { id }] of settings.entries()) {
    if (settings.findIndex((other) => other.id === id) < k) {
      throw new StudyError(`strategies: names of settings must differ, got ${id} twice`);
    }
  }
  return settings;
}

function settingsOfOne(
  study: StudyDocument,
  competitor: Competitor,
  place: string,
  outside: ReadonlyMap<string, AveragingStrategy>,
): Setting[] {
  const entries = Object.entries(competitor.parameters ?? {});
  const own = outside.get(competitor.strategy);
  const schemas = own ? own.parameters.properties : parameterSchemas(competitor.strategy, place);
  for (const [parameter] of entries) {
    if (!Object.hasOwn(schemas, parameter)) {
      const known = Object.keys(schemas).join(', ') || 'none';
      throw new StudyError(`${place}.parameters.${parameter}: unknown parameter; known here: ${known}`);
    }
  }
  const choices = combinations(study, entries, schemas, place);
  return choices.map((values) => {
    const parameters = Object.fromEntries(entries.map(([parameter], j) => [parameter, values[j]]));
    for (const [parameter, value] of Object.entries(parameters)) {
      checkValue(schemas[parameter], value, `${place}.parameters.${parameter}`);
    }
    const words = entries.filter(([, given]) => typeof given === 'object').map(([parameter]) => parameter);
    const { flagAware = false } = competitor;
    const strategy = own?.id ?? competitor.strategy;
    const base = competitor.id ?? (flagAware ? `flag-aware ${strategy}` : strategy);
    const id = [base, ...words.map((word) => `${word}=${parameters[word]}`)].join(' ');
    return { id, strategy, parameters, flagAware };
  });
}

function parameterSchemas(strategy: string, place: string): Record<string, TSchema> {
  try {
    return averagingStrategy(strategy).parameters.properties;
  } catch (error) {
    throw new StudyError(`${place}.strategy: ${(error as Error).message}`);
  }
}

/** Every choice of values: all combinations, or a Latin hypercube over lists and ranges. */
function combinations(
  study: StudyDocument,
  entries: [string, Scalar | Scalar[] | Range][],
  schemas: Record<string, TSchema>,
  place: string,
): Scalar[][] {
  const points = study.search && 'points' in study.search ? study.search.points : undefined;
  const free = entries.filter(([, given]) => typeof given === 'object');
  if (points === undefined || free.length === 0) {
    return entries.reduce<Scalar[][]>(
      (rows, [parameter, given]) => {
        const path = `${place}.parameters.${parameter}`;
        const whole = schemas[parameter].type === 'integer';
        return rows.flatMap((row) => valuesOf(given, path, whole).map((value) => [...row, value]));
      },
      [[]],
    );
  }
  const cube = latinHypercube(stream(seedOf(study), `study/settings/${place}`), points, free.length);
  const rows = cube.map((point) =>
    entries.map(([parameter, given]) => {
      if (typeof given !== 'object') return given;
      const u = point[free.findIndex(([other]) => other === parameter)];
      if (Array.isArray(given)) return given[Math.floor(u * given.length)];
      const value = pointOfRange(given, u, `${place}.parameters.${parameter}`);
      return schemas[parameter].type === 'integer' ? Math.round(value) : Number(value.toPrecision(6));
    }),
  );
  // Whole numbers and short lists can meet twice.
  return rows.filter((row, j) => rows.findIndex((other) => other.join('|') === row.join('|')) === j);
}

/** The values of a list or of a range on a grid. @throws {StudyError} for a range that cannot be */
export function valuesOf(given: Scalar | Scalar[] | Range, path: string, whole = false): Scalar[] {
  if (typeof given !== 'object') return [given];
  if (Array.isArray(given)) return given;
  const points = given.points ?? DEFAULT_POINTS;
  const values = Array.from({ length: points }, (_, j) => {
    const value = j === points - 1 ? given.to : pointOfRange(given, j / (points - 1), path);
    return whole ? Math.round(value) : Number(value.toPrecision(6));
  });
  return [...new Set(values)];
}

/** The value at a share 0 … 1 of a range. */
function pointOfRange({ from, to, scale = 'linear' }: Range, share: number, path: string): number {
  if (!(from < to)) throw new StudyError(`${path}: from must be below to, got ${from} and ${to}`);
  if (scale === 'linear') return from + share * (to - from);
  if (!(from > 0)) throw new StudyError(`${path}.from: must be > 0 for scale log, got ${from}`);
  return from * exp(share * log(to / from));
}

/** By hand, since the schema of a strategy from a sandbox is plain JSON. Tunables are numbers. */
function checkValue(schema: TSchema, value: Scalar, path: string): void {
  const { type, minimum = -Infinity, maximum = Infinity, unit } = schema;
  const fits = typeof value === 'number' && value >= minimum && value <= maximum;
  if (fits && (type !== 'integer' || Number.isInteger(value))) return;
  const kind = type === 'integer' ? 'a whole number' : 'a number';
  throw new StudyError(`${path}: must be ${kind} from ${minimum} to ${maximum}${unit ? ` ${unit}` : ''}, got ${value}`);
}

/** The seed of a study. */
export function seedOf(study: StudyDocument): string {
  return study.seed ?? '1';
}
