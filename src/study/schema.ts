import { type Static, type TSchema, Type } from '@sinclair/typebox';

/**
 * The study document: a question, the patients, the settings that compete, how often, and what is measured.
 *
 * Every key that is not listed is refused by name. Lists of values and ranges make the settings; `vary` makes the
 * conditions; `draw` makes every replicate a patient of its own.
 */

function group<T extends Record<string, TSchema>>(description: string, properties: T) {
  return Type.Object(properties, { description, additionalProperties: false });
}

const name = Type.String({
  pattern: '^[a-z0-9]+(-[a-z0-9]+)*$',
  maxLength: 60,
  description: 'a short name: a-z, 0-9 and single -',
});
const PATH = '^[A-Za-z][A-Za-z0-9]*(\\.[A-Za-z][A-Za-z0-9]*)+$';
const count = (minimum: number, maximum: number, description: string) =>
  Type.Integer({ minimum, maximum, description });
const scalar = Type.Union([Type.Number(), Type.Boolean(), Type.String({ maxLength: 200 })], {
  description: 'a number, true or false, or a word',
});
const scenarioValue = Type.Union([scalar, Type.Array(Type.Union([Type.Number(), Type.String()]))], {
  description: 'a value of the scenario',
});
const valueList = Type.Array(scalar, { minItems: 1, maxItems: 1000, description: 'a list of 1 to 1000 values' });

/** From … to: cut into `points` for a grid, drawn from by the Latin hypercube. */
const range = group('a range: from, to, points, scale linear or log', {
  from: Type.Number(),
  to: Type.Number(),
  points: Type.Optional(count(2, 1000, 'a whole number from 2 to 1000')),
  scale: Type.Optional(Type.Union([Type.Literal('linear'), Type.Literal('log')])),
});

const pair = Type.Array(Type.Number(), { minItems: 2, maxItems: 2, description: 'two numbers' });

/** How a key differs from patient to patient. */
const distribution = Type.Union(
  [
    group('evenly between two values', { uniform: pair }),
    group('evenly in the logarithm between two values', { logUniform: pair }),
    group('normal: mean and standard deviation, cut off at the bounds of the key', { normal: pair }),
    group('log-normal: median and standard deviation of the logarithm, cut off at the bounds', { logNormal: pair }),
    group('one of a list', { oneOf: valueList }),
  ],
  { description: 'one of uniform, logUniform, normal, logNormal, oneOf' },
);

/** A known response in real background: the noise is a stretch of these files, a different one for each replicate. */
const background = group('real background for a known response', {
  files: Type.Array(Type.String({ minLength: 1 }), { minItems: 1, maxItems: 100, description: 'a list of files' }),
  channel: Type.String({ minLength: 1, description: 'a channel, or A-B for a difference' }),
  sampleRateHz: Type.Optional(Type.Number({ minimum: 0.01, maximum: 1e6 })),
  unit: Type.Optional(Type.String({ minLength: 1 })),
});

const scenarioEntry = group('a scenario', {
  id: name,
  scenario: Type.Optional(
    Type.Union([Type.String({ minLength: 1 }), Type.Object({}, { additionalProperties: true })], {
      description: 'the id of a preset, a scenario file, or a partial scenario',
    }),
  ),
  set: Type.Optional(Type.Record(Type.String({ pattern: PATH }), scenarioValue, { additionalProperties: false })),
  draw: Type.Optional(Type.Record(Type.String({ pattern: PATH }), distribution, { additionalProperties: false })),
  background: Type.Optional(background),
});

const competitor = group('a strategy with its parameters', {
  id: Type.Optional(name),
  strategy: Type.String({ minLength: 1, description: 'the id of a strategy' }),
  flagAware: Type.Optional(Type.Boolean({ description: 'true or false: flagged sweeps never reach it' })),
  parameters: Type.Optional(
    Type.Record(Type.String({ pattern: '^[A-Za-z][A-Za-z0-9]*$' }), Type.Union([scalar, valueList, range]), {
      additionalProperties: false,
    }),
  ),
});

const search = Type.Union(
  [
    group('every combination', { kind: Type.Literal('grid') }),
    group('points spread evenly over all ranges at once', {
      kind: Type.Literal('latin-hypercube'),
      points: count(2, 10000, 'a whole number from 2 to 10000'),
    }),
    group('many settings on few patients, the better ones on more', {
      kind: Type.Literal('successive-halving'),
      points: Type.Optional(count(2, 10000, 'a whole number from 2 to 10000')),
      keepOneIn: count(2, 10, 'a whole number from 2 to 10'),
    }),
  ],
  { description: 'a search' },
);

const replicates = Type.Union(
  [
    count(1, 100000, 'a whole number from 1 to 100000'),
    group('replicates until the interval is narrow enough', {
      from: count(3, 100000, 'a whole number from 3 to 100000'),
      to: count(3, 100000, 'a whole number from 3 to 100000'),
      until: group('when a condition is known well enough', {
        measure: name,
        halfWidthPercent: Type.Number({ minimum: 0.1, maximum: 100 }),
      }),
    }),
  ],
  { description: 'a whole number, or from, to and until' },
);

export const studySchema = group('study', {
  version: Type.Literal(1),
  id: name,
  question: Type.String({ minLength: 1, maxLength: 400 }),
  answer: Type.Optional(Type.String({ maxLength: 4000 })),
  seed: Type.Optional(Type.String({ minLength: 1, maxLength: 100 })),
  scenarios: Type.Array(scenarioEntry, { minItems: 1, maxItems: 200, description: 'a list of 1 to 200 scenarios' }),
  test: Type.Optional(
    Type.Array(scenarioEntry, { minItems: 1, maxItems: 200, description: 'a list of 1 to 200 sealed scenarios' }),
  ),
  vary: Type.Optional(
    Type.Record(Type.String({ pattern: PATH }), Type.Union([valueList, range]), { additionalProperties: false }),
  ),
  strategies: Type.Array(competitor, { minItems: 1, maxItems: 200, description: 'a list of 1 to 200 strategies' }),
  reference: Type.Optional(Type.String({ minLength: 1 })),
  search: Type.Optional(search),
  replicates,
  blockReplicates: Type.Optional(count(1, 1000, 'a whole number from 1 to 1000')),
  budget: Type.Optional(
    group('a limit', { recordings: count(1, 1e8, 'a whole number from 1 to 100000000: patients recorded') }),
  ),
  measures: Type.Array(name, { minItems: 1, maxItems: 20, description: 'a list of 1 to 20 measures' }),
  choose: Type.Optional(
    group('how the best setting is chosen', { measure: name, keepsResponse: Type.Optional(Type.Boolean()) }),
  ),
  catastrophe: Type.Optional(
    group('what counts as a catastrophe', {
      noiseTimesTarget: Type.Optional(Type.Number({ exclusiveMinimum: 0, maximum: 1e6 })),
      gainBelow: Type.Optional(Type.Number({ minimum: 0, maximum: 1 })),
    }),
  ),
});

/** A study as it is written, checked key by key. */
export type StudyDocument = Static<typeof studySchema>;
export type ScenarioEntry = Static<typeof scenarioEntry>;
export type Competitor = Static<typeof competitor>;
export type Range = Static<typeof range>;
export type Distribution = Static<typeof distribution>;
export type Background = Static<typeof background>;
/** A value of a strategy's parameter or of a scenario's key. */
export type Scalar = Static<typeof scalar>;
