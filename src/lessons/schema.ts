import { type Static, type TSchema, Type } from '@sinclair/typebox';

/**
 * The lesson document: what a learner is asked, on which patients, and which computed figure decides each mark.
 *
 * No right answer is written down. Every question and every rule names a *figure*, which the model computes on hidden
 * replicate patients when an attempt is marked.
 */

function group<T extends Record<string, TSchema>>(description: string, properties: T) {
  return Type.Object(properties, { description, additionalProperties: false });
}

const name = Type.String({ pattern: '^[a-z0-9]+(-[a-z0-9]+)*$', description: 'a short name: a-z, 0-9 and single -' });
const sentence = Type.String({ minLength: 1, maxLength: 600, description: 'a sentence' });
const sentences = Type.Array(sentence, { minItems: 1, maxItems: 12 });
const path = Type.String({ pattern: '^[A-Za-z]+(\\.[A-Za-z]+)+$', description: 'a key of the scenario, with dots' });
const positive = Type.Number({ exclusiveMinimum: 0, maximum: 1e6 });
const points = Type.Integer({ minimum: 1, maximum: 40 });

/** `plain-mean`, or `threshold-rejection@8` for a lane that the run adds by `vary`. */
const lane = Type.String({
  pattern: '^[a-z]+(-[a-z]+)*(@[0-9.]+)?$',
  description: 'a strategy, or strategy@value for a lane added by vary',
});

const ofLane = <T extends string>(kind: T) => group(`figure ${kind}`, { figure: Type.Literal(kind), run: name, lane });

const ofLaneAndTarget = <T extends string>(kind: T) =>
  group(`figure ${kind}`, { figure: Type.Literal(kind), run: name, lane, targetNv: positive });

/** Figures that are one number each. */
const singleFigures = [
  group('figure residual-noise', {
    figure: Type.Literal('residual-noise'),
    run: name,
    lane,
    percentile: Type.Optional(Type.Number({ minimum: 1, maximum: 99 })),
  }),
  ofLane('own-noise'),
  ofLane('gain'),
  ofLane('accepted'),
  ofLane('effective'),
  ofLane('split-correlation'),
  ofLane('scatter'),
  ofLane('slope'),
  ofLaneAndTarget('seconds-to-target'),
  ofLaneAndTarget('sweeps-by-law'),
  group('figure lowest-noise', { figure: Type.Literal('lowest-noise'), run: name }),
  group('figure best-value', { figure: Type.Literal('best-value'), run: name }),
  group('figure setting', { figure: Type.Literal('setting'), setting: name }),
  group('figure lock-distance', {
    figure: Type.Literal('lock-distance'),
    ratePerS: Type.Union([positive, group('a setting', { setting: name })]),
    everyOther: Type.Optional(Type.Boolean()),
    lineHz: positive,
    harmonics: Type.Integer({ minimum: 1, maximum: 40 }),
  }),
] as const;

/** One number that the model computes when an attempt is marked; a ratio is of two others. */
const figureSchema = Type.Union([
  ...singleFigures,
  group('figure ratio', {
    figure: Type.Literal('ratio'),
    of: Type.Union([...singleFigures]),
    to: Type.Union([...singleFigures]),
  }),
]);

/** A number that the learner gives. `scale`: 20·exp(−|ln(given/true)|/scale); `tolerance`: full within ± this. */
const numberQuestion = group('a question for a number', {
  kind: Type.Literal('number'),
  id: name,
  text: sentence,
  unit: Type.String({ maxLength: 20 }),
  points,
  figure: figureSchema,
  scale: Type.Optional(Type.Number({ minimum: 0.02, maximum: 2 })),
  tolerance: Type.Optional(positive),
});

/** Items that the learner puts in order, lowest figure first. Pairs nearer than `tie` (ratio − 1) do not count. */
const rankingQuestion = group('a question for an order', {
  kind: Type.Literal('ranking'),
  id: name,
  text: sentence,
  points,
  tie: Type.Number({ minimum: 0, maximum: 1 }),
  items: Type.Array(group('an item', { id: name, text: sentence, figure: figureSchema }), { minItems: 2, maxItems: 8 }),
});

/** One option is right: the one whose range [from, to) holds the figure. An option without a range is never right. */
const choiceQuestion = group('a question with options', {
  kind: Type.Literal('choice'),
  id: name,
  text: sentence,
  points,
  figure: figureSchema,
  options: Type.Array(
    group('an option', {
      id: name,
      text: sentence,
      from: Type.Optional(Type.Number()),
      to: Type.Optional(Type.Number()),
    }),
    { minItems: 2, maxItems: 6 },
  ),
});

/** Yes or no for each item: yes is right where the figure is at most, or at least, the limit. */
const yesNoQuestion = group('a question of yes or no for each item', {
  kind: Type.Literal('yes-no'),
  id: name,
  text: sentence,
  points,
  atMost: Type.Optional(Type.Number()),
  atLeast: Type.Optional(Type.Number()),
  items: Type.Array(group('an item', { id: name, text: sentence, figure: figureSchema }), { minItems: 2, maxItems: 8 }),
});

const question = Type.Union([numberQuestion, rankingQuestion, choiceQuestion, yesNoQuestion]);

/** Points for what the learner's settings achieve: all at `full`, none at `none`, in proportion between. */
const outcomeRule = group('a rule for the outcome', {
  id: name,
  text: sentence,
  points,
  figure: figureSchema,
  full: Type.Number(),
  none: Type.Number(),
  gain: Type.Optional(group('lane whose gain must be in bounds for any points', { run: name, lane })),
});

export const lessonSchema = group('lesson', {
  version: Type.Literal(1),
  id: name,
  title: sentence,
  summary: sentence,
  minutes: Type.Integer({ minimum: 1, maximum: 240 }),
  objectives: sentences,
  outOfScope: sentences,
  prerequisites: Type.Array(sentence, { maxItems: 12 }),
  scenario: Type.Union([name, Type.Object({}, { additionalProperties: true })], {
    description: 'the id of a preset, or a partial scenario',
  }),
  hidden: group('the hidden replicate patients', {
    replicates: Type.Integer({ minimum: 3, maximum: 200 }),
    seeds: Type.Union([Type.Literal('per-attempt'), Type.Literal('shared')]),
  }),
  settings: Type.Array(
    group('a control that the learner sets', {
      id: name,
      path,
      text: sentence,
      unit: Type.String({ maxLength: 20 }),
      minimum: Type.Number(),
      maximum: Type.Number(),
      start: Type.Number(),
    }),
    { minItems: 1, maxItems: 6 },
  ),
  runs: Type.Array(
    group('a run', {
      id: name,
      title: sentence,
      bench: Type.Boolean({ description: 'whether it can be run on the bench' }),
      replicates: Type.Optional(Type.Integer({ minimum: 3, maximum: 200 })),
      change: Type.Optional(
        Type.Record(path, Type.Union([Type.Number(), Type.Boolean(), Type.String(), Type.Array(Type.Number())]), {
          additionalProperties: false,
        }),
      ),
      settings: Type.Array(name, { maxItems: 6 }),
      vary: Type.Optional(
        group('extra lanes: one strategy with one parameter varied', {
          strategy: lane,
          parameter: Type.String({ pattern: '^[A-Za-z0-9]+$' }),
          values: Type.Array(positive, { minItems: 1, maxItems: 24 }),
        }),
      ),
    }),
    { minItems: 1, maxItems: 16 },
  ),
  report: group('the run whose seconds to target are reported', { run: name, targetNv: positive }),
  predictions: Type.Array(question, { minItems: 1, maxItems: 8 }),
  outcome: Type.Array(outcomeRule, { minItems: 1, maxItems: 8 }),
  measurements: Type.Array(question, { minItems: 1, maxItems: 8 }),
  explanations: Type.Array(choiceQuestion, { minItems: 1, maxItems: 8 }),
  debrief: sentences,
});

export type Lesson = Static<typeof lessonSchema>;
export type Run = Lesson['runs'][number];
export type Setting = Lesson['settings'][number];
export type Question = Lesson['predictions'][number];
export type OutcomeRule = Lesson['outcome'][number];
export type Figure = Static<typeof figureSchema>;

/** Points of each part of an attempt; they add up to 100. */
export const PART_POINTS = { predictions: 20, outcome: 40, measurements: 20, explanations: 20 } as const;
export type Part = keyof typeof PART_POINTS;
