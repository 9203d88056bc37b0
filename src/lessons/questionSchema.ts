import { type Static, Type } from '@sinclair/typebox';
import { figureSchema } from './figureSchema.ts';
import { group, name, points, positive, sentence } from './schemaParts.ts';

const item = group('an item', { id: name, text: sentence, figure: figureSchema });

/** A number that the learner gives. `scale`: points·exp(−|ln(given/true)|/scale); `tolerance`: full within ± this. */
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
  items: Type.Array(item, { minItems: 2, maxItems: 8 }),
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
  items: Type.Array(item, { minItems: 2, maxItems: 8 }),
});

/**
 * Claims of which the learner picks some, at most `pick`: the evidence for an explanation.
 *
 * A claim holds where its own figure lies in [from, to). Points: (right picks − wrong picks) / claims that could be
 * picked rightly, never below 0.
 */
const claimsQuestion = group('a question for the claims that hold', {
  kind: Type.Literal('claims'),
  id: name,
  text: sentence,
  points,
  pick: Type.Integer({ minimum: 1, maximum: 6 }),
  claims: Type.Array(
    group('a claim', {
      id: name,
      text: sentence,
      figure: figureSchema,
      from: Type.Optional(Type.Number()),
      to: Type.Optional(Type.Number()),
    }),
    { minItems: 2, maxItems: 8 },
  ),
});

export const questionSchema = Type.Union([
  numberQuestion,
  rankingQuestion,
  choiceQuestion,
  yesNoQuestion,
  claimsQuestion,
]);

export type Question = Static<typeof questionSchema>;
