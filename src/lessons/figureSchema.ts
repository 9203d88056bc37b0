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

const numberOrSetting = Type.Union([positive, group('a setting', { setting: name })]);

/**
 * When a session is broken off, and what is then said: looked at after every so many sweeps and at the end.
 *
 * Present where Fmp exceeds `limit`, absent where nothing was found and the own claim is down to `floorNv`; cannot tell
 * at the end of the session.
 */
const stoppingSchema = group('a stopping rule', {
  everySweeps: numberOrSetting,
  limit: numberOrSetting,
  floorNv: numberOrSetting,
});

export type Stopping = Static<typeof stoppingSchema>;

/** One run for each level of a threshold search, loudest first. */
const levelRuns = Type.Array(name, { minItems: 1, maxItems: 12 });

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
  ofPeak('peak-truth'),
  ofPeak('latency-error'),
  ofPeak('peak-clear'),
  group('figure peak-within', {
    figure: Type.Literal('peak-within'),
    run: name,
    lane,
    peak: readName,
    withinMs: positive,
  }),
  group('figure called', {
    figure: Type.Literal('called'),
    run: name,
    lane,
    stop: stoppingSchema,
    verdict: Type.Union([Type.Literal('present'), Type.Literal('absent'), Type.Literal('cannot-tell')]),
  }),
  group('figure seconds-to-call', {
    figure: Type.Literal('seconds-to-call'),
    run: name,
    lane,
    stop: stoppingSchema,
  }),
  group('figure threshold-within', {
    figure: Type.Literal('threshold-within'),
    levels: levelRuns,
    lane,
    stop: stoppingSchema,
    withinDb: positive,
  }),
  group('figure search-seconds', {
    figure: Type.Literal('search-seconds'),
    levels: levelRuns,
    lane,
    stop: stoppingSchema,
  }),
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

const ratioFigure = group('figure ratio', {
  figure: Type.Literal('ratio'),
  of: Type.Union([...singleFigures]),
  to: Type.Union([...singleFigures]),
});

const ofRuns = Type.Array(name, { minItems: 2, maxItems: 24 });
const text = Type.String({ minLength: 1, maxLength: 160 });

/** Figures made of others: a ratio of two, the same in decibels, a difference, how far two lie apart, a sum of several. */
const compoundFigures = [
  ratioFigure,
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
  group('figure distance', {
    figure: Type.Literal('distance'),
    of: Type.Union([...singleFigures]),
    to: Type.Union([...singleFigures]),
  }),
  group('figure sum', {
    figure: Type.Literal('sum'),
    text: Type.String({ minLength: 1, maxLength: 120 }),
    of: Type.Array(Type.Union([...singleFigures]), { minItems: 2, maxItems: 12 }),
  }),
  // The same figure in each of several runs, which take the place of those that it names: its extremes, or in what
  // share of the runs it keeps a limit, %.
  group('figure over-runs', {
    figure: Type.Literal('over-runs'),
    text,
    runs: ofRuns,
    of: Type.Union([...singleFigures, ratioFigure]),
    take: Type.Union([Type.Literal('lowest'), Type.Literal('highest'), Type.Literal('share')]),
    atMost: Type.Optional(numberOrSetting),
    atLeast: Type.Optional(Type.Number()),
  }),
] as const;

/** One number that the model computes when an attempt is marked. */
export const figureSchema = Type.Union([...singleFigures, ...compoundFigures]);

export type Figure = Static<typeof figureSchema>;
