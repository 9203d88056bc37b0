import { type Static, Type } from '@sinclair/typebox';
import { group, lane, name, positive } from './schemaParts.ts';

const ofLane = <T extends string>(kind: T) => group(`figure ${kind}`, { figure: Type.Literal(kind), run: name, lane });

const ofLaneAndTarget = <T extends string>(kind: T) =>
  group(`figure ${kind}`, { figure: Type.Literal(kind), run: name, lane, targetNv: positive });

/** Over the lanes that a run adds by vary: all of them, or those of one strategy. */
const ofVaried = <T extends string>(kind: T) =>
  group(`figure ${kind}`, { figure: Type.Literal(kind), run: name, strategy: Type.Optional(lane) });

/** Figures that are one number each. */
const singleFigures = [
  group('figure residual-noise', {
    figure: Type.Literal('residual-noise'),
    run: name,
    lane,
    percentile: Type.Optional(Type.Number({ minimum: 1, maximum: 99 })),
  }),
  ofLane('own-noise'),
  ofLane('own-scatter'),
  ofLane('gain'),
  ofLane('gain-error'),
  ofLane('accepted'),
  ofLane('effective'),
  ofLane('split-correlation'),
  ofLane('scatter'),
  ofLane('slope'),
  ofLane('fmp'),
  ofLaneAndTarget('seconds-to-target'),
  ofLaneAndTarget('sweeps-by-law'),
  ofVaried('lowest-noise'),
  ofVaried('best-value'),
  group('figure best-lane', {
    figure: Type.Literal('best-lane'),
    run: name,
    lanes: Type.Array(lane, { minItems: 2, maxItems: 24 }),
    of: Type.Union([Type.Literal('residual-noise'), Type.Literal('seconds-to-target')]),
    targetNv: Type.Optional(positive),
  }),
  group('figure setting', { figure: Type.Literal('setting'), setting: name }),
  group('figure lock-distance', {
    figure: Type.Literal('lock-distance'),
    ratePerS: Type.Union([positive, group('a setting', { setting: name })]),
    everyOther: Type.Optional(Type.Boolean()),
    lineHz: positive,
    harmonics: Type.Integer({ minimum: 1, maximum: 40 }),
  }),
] as const;

/** Figures made of others: a ratio of two, a sum of several. */
const compoundFigures = [
  group('figure ratio', {
    figure: Type.Literal('ratio'),
    of: Type.Union([...singleFigures]),
    to: Type.Union([...singleFigures]),
  }),
  group('figure sum', {
    figure: Type.Literal('sum'),
    text: Type.String({ minLength: 1, maxLength: 120 }),
    of: Type.Array(Type.Union([...singleFigures]), { minItems: 2, maxItems: 12 }),
  }),
] as const;

/** One number that the model computes when an attempt is marked. */
export const figureSchema = Type.Union([...singleFigures, ...compoundFigures]);

export type Figure = Static<typeof figureSchema>;
