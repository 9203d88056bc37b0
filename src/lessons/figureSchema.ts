import { type Static, Type } from '@sinclair/typebox';
import { pickupPathIds } from '../core/noise/pickupPaths.ts';
import { group, lane, name, positive } from './schemaParts.ts';

const readName = Type.String({ minLength: 1, maxLength: 40 });

const ofLane = <T extends string>(kind: T) => group(`figure ${kind}`, { figure: Type.Literal(kind), run: name, lane });

const ofLaneAndTarget = <T extends string>(kind: T) =>
  group(`figure ${kind}`, { figure: Type.Literal(kind), run: name, lane, targetNv: positive });

/** Over the lanes that a run adds by vary: all of them, or those of one strategy. */
const ofVaried = <T extends string>(kind: T) =>
  group(`figure ${kind}`, { figure: Type.Literal(kind), run: name, strategy: Type.Optional(lane) });

/** Of a peak that is read off the average, by its name: V, N1, n10 … */
const ofPeak = <T extends string>(kind: T) =>
  group(`figure ${kind}`, { figure: Type.Literal(kind), run: name, lane, peak: readName });

/** Of something that is read off the average, by its name: 'I–V', 'SP/AP by amplitude' … */
const ofReading = <T extends string>(kind: T) =>
  group(`figure ${kind}`, { figure: Type.Literal(kind), run: name, lane, reading: readName });

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
  ofPeak('peak-latency'),
  ofPeak('latency-error'),
  ofReading('read-value'),
  ofReading('read-truth'),
  ofReading('read-error'),
  ofReading('read-width'),
  ofReading('read-coverage'),
  group('figure read-decided', {
    figure: Type.Literal('read-decided'),
    run: name,
    lane,
    reading: readName,
    cut: Type.Number(),
    side: Type.Union([Type.Literal('above'), Type.Literal('below')]),
  }),
  group('figure pickup', {
    figure: Type.Literal('pickup'),
    run: name,
    path: Type.Optional(Type.Union(pickupPathIds.map((id) => Type.Literal(id)))),
  }),
  group('figure changed', {
    figure: Type.Literal('changed'),
    settings: Type.Array(name, { minItems: 1, maxItems: 8 }),
  }),
  group('figure diagnosis', { figure: Type.Literal('diagnosis'), setting: name }),
  group('figure looks', { figure: Type.Literal('looks') }),
  group('figure setting', { figure: Type.Literal('setting'), setting: name }),
  group('figure lock-distance', {
    figure: Type.Literal('lock-distance'),
    ratePerS: Type.Union([positive, group('a setting', { setting: name })]),
    everyOther: Type.Optional(Type.Boolean()),
    lineHz: positive,
    harmonics: Type.Integer({ minimum: 1, maximum: 40 }),
  }),
] as const;

/** Figures made of others: a ratio of two, the same in decibels, a difference, a sum of several. */
const compoundFigures = [
  group('figure ratio', {
    figure: Type.Literal('ratio'),
    of: Type.Union([...singleFigures]),
    to: Type.Union([...singleFigures]),
  }),
  group('figure decibels', {
    figure: Type.Literal('decibels'),
    of: Type.Union([...singleFigures]),
    to: Type.Union([...singleFigures]),
  }),
  group('figure difference', {
    figure: Type.Literal('difference'),
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
