import { type Static, Type } from '@sinclair/typebox';
import { figureSchema } from './figureSchema.ts';
import { questionSchema } from './questionSchema.ts';
import { group, lane, name, points, positive, sentence, sentences } from './schemaParts.ts';

/**
 * The lesson document: what a learner is asked, on which patients, and which computed figure decides each mark.
 *
 * No right answer is written down. Every question and every rule names a *figure*, which the model computes on hidden
 * replicate patients when an attempt is marked. Every key is documented beside it; DEVELOPERS.md shows how to begin.
 *
 * A text may hold `[[25|30]]` and a value may be `{ at50: 25, at60: 30 }`: the first is for a 50 Hz supply, the second
 * for a 60 Hz one (see `atLine.ts`).
 */

const path = Type.String({
  pattern: '^[A-Za-z]+(\\.[A-Za-z0-9]+)+$',
  maxLength: 80,
  description: 'a key of the scenario, with dots',
});
const scenarioValue = Type.Union([Type.Number(), Type.Boolean(), Type.String(), Type.Array(Type.Number())], {
  description: 'a number, true, false, a word or a list of numbers',
});

const changes = Type.Record(path, scenarioValue, { additionalProperties: false });

/**
 * A free control with a number. All controls that no setting frees are locked while the run is on the bench.
 *
 * Without a path it changes nothing in the scenario: a limit, a claim, a plan, for figures that name the setting.
 */
const numberSetting = group('a number that the learner sets', {
  kind: Type.Literal('number'),
  id: name,
  path: Type.Optional(path),
  text: sentence,
  unit: Type.String({ maxLength: 20 }),
  minimum: Type.Number(),
  maximum: Type.Number(),
  start: Type.Number(),
});

/**
 * A free control with choices, of one of four kinds.
 *
 * With a path, an option gives that key a value. With `change` in every option, an option gives several keys theirs. With
 * `diagnosisOf`, the learner says which case lies in that run, and may not say otherwise once the seal is broken. With
 * none of these, each option's id is a lane, for figures of `setting:id`.
 */
const choiceSetting = group('a choice that the learner makes', {
  kind: Type.Literal('choice'),
  id: name,
  path: Type.Optional(path),
  diagnosisOf: Type.Optional(name),
  text: sentence,
  options: Type.Array(
    group('an option', {
      id: Type.String({ pattern: '^[a-z0-9]+(-[a-z0-9]+)*(@[0-9.e-]+)?$', maxLength: 60, description: 'a short name' }),
      text: sentence,
      value: Type.Optional(scenarioValue),
      change: Type.Optional(changes),
    }),
    { minItems: 2, maxItems: 16 },
  ),
  start: Type.String(),
});

const variation = group('extra lanes: one strategy with one parameter varied', {
  strategy: lane,
  parameter: Type.String({ pattern: '^[A-Za-z0-9]+$' }),
  values: Type.Array(positive, { minItems: 1, maxItems: 24 }),
});

/** Points for what the learner's settings achieve: all at `full`, none at `none`, in proportion between. */
const outcomeRule = group('a rule for the outcome', {
  id: name,
  text: sentence,
  points,
  figure: figureSchema,
  full: Type.Number(),
  none: Type.Number(),
  gain: Type.Optional(group('lane whose gain must be in bounds for any points', { run: name, lane })),
  /** A figure that must keep its limit for any points: a budget, or what no result may be bought with. */
  provided: Type.Optional(
    group('a condition', {
      text: sentence,
      figure: figureSchema,
      atMost: Type.Optional(Type.Number()),
      atLeast: Type.Optional(Type.Number()),
    }),
  ),
});

/** A standard player for the dry run: what such a learner would set and answer. */
const player = group('a standard player', {
  settings: Type.Record(name, Type.Union([Type.Number(), Type.String()])),
  answers: Type.Record(
    name,
    Type.Union([Type.Number(), Type.String(), Type.Array(Type.String()), Type.Record(name, Type.Boolean())]),
  ),
  /** Percent, for every prediction. */
  confidence: Type.Optional(Type.Number({ minimum: 0, maximum: 100 })),
  /** What such a learner calls each case, by its id; the case itself if it is left out. Goes before `settings`. */
  diagnoses: Type.Optional(Type.Record(name, name)),
  /** How many looks at unlabelled patients such a learner takes. */
  looks: Type.Optional(Type.Integer({ minimum: 0, maximum: 1000 })),
});

export const lessonSchema = group('lesson', {
  format: Type.Literal(1),
  /** Raised with every change that could change a mark: an attempt holds it. */
  version: Type.Integer({ minimum: 1, maximum: 9999 }),
  id: name,
  title: sentence,
  summary: sentence,
  /** Order in the list of lessons. */
  place: Type.Integer({ minimum: 1, maximum: 999 }),
  bundles: Type.Array(Type.Union([Type.Literal('in-service'), Type.Literal('engineer')]), { maxItems: 2 }),
  minutes: Type.Integer({ minimum: 1, maximum: 240 }),
  /** After this an attempt takes no more answers. */
  timeLimitMinutes: Type.Optional(Type.Integer({ minimum: 1, maximum: 600 })),
  /** How many attempts one learner has. */
  attemptLimit: Type.Optional(Type.Integer({ minimum: 1, maximum: 99 })),
  /** Set when the document is read for one supply or the other; not written in the file. */
  lineHz: Type.Union([Type.Literal(50), Type.Literal(60)]),
  objectives: sentences,
  outOfScope: sentences,
  prerequisites: Type.Array(sentence, { maxItems: 12 }),
  scenario: Type.Union([name, Type.Object({}, { additionalProperties: true })], {
    description: 'the id of a preset, or a partial scenario',
  }),
  hidden: group('the hidden replicate patients', {
    replicates: Type.Integer({ minimum: 3, maximum: 200 }),
    /** New patients for every attempt, the same for all, or decided by the learner's name and attempt number. */
    seeds: Type.Union([Type.Literal('per-attempt'), Type.Literal('shared'), Type.Literal('per-learner')]),
  }),
  settings: Type.Array(Type.Union([numberSetting, choiceSetting]), { minItems: 1, maxItems: 8 }),
  /**
   * Controls of the bench that no setting names; all others are locked while a run is there.
   *
   * `free`: for the learner to play with on the bench; no mark depends on them, so not where patients are unlabelled.
   * `hidden`: out of sight, a key or a whole section; the scenario cannot be saved or linked to while something is hidden.
   */
  controls: Type.Optional(
    group('controls of the bench', {
      free: Type.Optional(Type.Array(path, { maxItems: 60 })),
      hidden: Type.Optional(
        Type.Array(
          Type.String({
            pattern: '^[A-Za-z]+(\\.[A-Za-z0-9]+)*$',
            maxLength: 80,
            description: 'a key of the scenario with dots, or a section',
          }),
          { maxItems: 60 },
        ),
      ),
    }),
  ),
  /** What may be wrong with unlabelled patients; who has what is shuffled for every attempt. */
  cases: Type.Optional(
    Type.Array(group('a case', { id: name, text: sentence, change: changes }), { minItems: 2, maxItems: 12 }),
  ),
  runs: Type.Array(
    group('a run', {
      id: name,
      title: sentence,
      bench: Type.Boolean({ description: 'whether it can be run on the bench' }),
      replicates: Type.Optional(Type.Integer({ minimum: 3, maximum: 200 })),
      change: Type.Optional(changes),
      /** Place in the shuffled list of `cases`, from 1: an unlabelled patient, whose locked controls are hidden. */
      case: Type.Optional(Type.Integer({ minimum: 1, maximum: 12 })),
      settings: Type.Array(name, { maxItems: 8 }),
      /** Strategies that are marked; all of them if it is left out. */
      strategies: Type.Optional(Type.Array(lane, { minItems: 1, maxItems: 24 })),
      vary: Type.Optional(Type.Array(variation, { minItems: 1, maxItems: 4 })),
    }),
    { minItems: 1, maxItems: 24 },
  ),
  /** How many evaluations a learner has: different pairs of a run on the bench and the settings that it takes. */
  benchLimit: Type.Optional(Type.Integer({ minimum: 1, maximum: 1000 })),
  report: group('the run whose seconds to target are reported', { run: name, targetNv: positive }),
  predictions: Type.Array(questionSchema, { minItems: 1, maxItems: 8 }),
  /** Points for knowing how sure to be of each prediction, by Brier's score; part of the 20 for predictions. */
  confidencePoints: Type.Integer({ minimum: 0, maximum: 10 }),
  outcome: Type.Array(outcomeRule, { minItems: 1, maxItems: 8 }),
  measurements: Type.Array(questionSchema, { minItems: 1, maxItems: 8 }),
  explanations: Type.Array(questionSchema, { minItems: 1, maxItems: 8 }),
  /** A short text in the learner's own words. The machine keeps it for the instructor and gives no points for it. */
  essay: group('a short text, for the instructor to mark', {
    prompt: sentence,
    minimumWords: Type.Integer({ minimum: 1, maximum: 1000 }),
    maximumWords: Type.Integer({ minimum: 1, maximum: 2000 }),
    /** What a good text has: cause, evidence, limit, what would change my mind. */
    rubric: Type.Array(sentence, { minItems: 2, maxItems: 8 }),
  }),
  /** What each hint costs that is opened. */
  hintCostPoints: Type.Number({ minimum: 0, maximum: 5 }),
  players: group('standard players of the dry run', {
    /** Knows the law and the texts, not the hidden patients. */
    textbook: player,
    /** Holds the misconceptions that the lesson is about. */
    careless: player,
  }),
  debrief: sentences,
});

export type Lesson = Static<typeof lessonSchema>;
export type Run = Lesson['runs'][number];
export type Setting = Lesson['settings'][number];
export type NumberSetting = Extract<Setting, { kind: 'number' }>;
export type OutcomeRule = Lesson['outcome'][number];
export type { Figure } from './figureSchema.ts';
export type { Question } from './questionSchema.ts';

/** Points of each part of an attempt; they add up to 100. */
export const PART_POINTS = { predictions: 20, outcome: 40, measurements: 20, explanations: 20 } as const;
export type Part = keyof typeof PART_POINTS;
