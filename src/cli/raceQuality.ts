import type { AveragingStrategy } from '../core/averaging/strategy.ts';
import type { Scenario } from '../core/scenario/schema.ts';
import { type BreakdownAxis, type BreakdownCurve, breakdownCurves } from '../core/session/breakdownCurves.ts';
import { type LaneQuality, laneQuality } from '../core/session/laneQuality.ts';
import { type LaneSetting, laneName } from '../core/session/lanes.ts';
import { laneTitles } from './laneOption.ts';
import { withProgress } from './progress.ts';
import { orNull, shown, textTable } from './table.ts';

/** Judges every strategy's weights and average, for the seed's own run; progress goes to a terminal. */
export function qualityWithProgress(
  scenario: Scenario,
  seed: string,
  lanes: readonly LaneSetting[],
  outside: readonly AveragingStrategy[] = [],
): LaneQuality[] {
  return withProgress(laneQuality(scenario, seed, lanes, outside), 'judging');
}

/** The key `quality` of the JSON contract; tests/cli/raceQuality.test.ts holds it. */
export function qualityJson(qualities: readonly LaneQuality[]): object[] {
  return qualities.map(({ strategy, neighbours, weights, stops, looks, ...one }) => ({
    strategy,
    plusMinusNv: orNull(1000 * one.plusMinusUv),
    residualNoiseNv: orNull(1000 * one.residualNoiseUv),
    ownNoiseNv: orNull(1000 * one.ownNoiseUv),
    neighbours: {
      ...neighbours,
      ratio: orNull(neighbours.ratio),
      low: orNull(neighbours.low),
      high: orNull(neighbours.high),
    },
    trueSnrDb: orNull(one.trueSnrDb),
    estimatedSnr: orNull(one.estimatedSnr),
    weights: Object.fromEntries(Object.entries(weights).map(([key, value]) => [key, orNull(value)])),
    stops: stops.map((stop) => ({ ...stop, seconds: orNull(stop.seconds) })),
    looks,
  }));
}

/** The quality of every lane as tables, with what their columns mean. */
export function qualityText(
  scenario: Scenario,
  qualities: readonly LaneQuality[],
  outside: readonly AveragingStrategy[] = [],
): string {
  const titles = laneTitles(
    qualities,
    qualities.map((lane) => laneName(lane, outside)),
  );
  const noise = qualities.map(({ neighbours, weights, ...lane }, k) => [
    titles[k],
    shown(1000 * lane.residualNoiseUv, 1),
    shown(1000 * lane.ownNoiseUv, 1),
    shown(1000 * lane.plusMinusUv, 1),
    `${shown(neighbours.ratio, 2)}${neighbours.warning ? ' !' : ''}`,
    `${shown(neighbours.low, 2)}–${shown(neighbours.high, 2)}`,
    shown(lane.trueSnrDb, 1),
    shown(lane.estimatedSnr, 2),
    ...[weights.falseReject, weights.falseAccept, weights.rank, weights.area].map((value) => shown(value, 2)),
  ]);
  const ends = qualities.map(({ stops, looks }, k) => [
    titles[k],
    ...stops.map(({ seconds, verdict }) =>
      Number.isFinite(seconds) ? `${seconds.toFixed(0)} s${verdict === 'cannot-tell' ? '' : `, ${verdict}`}` : 'end',
    ),
    looks ? `${(100 * looks.falseAlarms).toFixed(0)} %` : '–',
    looks ? (looks.presentAt === null ? 'no' : `look ${looks.presentAt}`) : 'not valid',
  ]);
  const { targetNv } = scenario.session;
  return [
    textTable([
      [
        'strategy',
        'true nV',
        'claim nV',
        '± nV',
        'blocks',
        'chance',
        'SNR dB',
        'SNR seen',
        'false −',
        'false +',
        'rank',
        'area',
      ],
      ...noise,
    ]),
    '',
    textTable([
      ['strategy', '2000 sweeps', `${targetNv} nV claimed`, 'SNR 3 or 16 nV', 'out of reach', '10 looks', 'present'],
      ...ends,
    ]),
    '',
    "Quality: the seed's own run. ±: noise by the difference of the split buffers. Blocks: claim from blocks of 32 sweeps over",
    'claim from sweeps; ! outside 99 % of chance: neighbours are not independent, so no claim of noise is to be trusted. SNR: true',
    'response over true noise; seen: as the claim lets one believe, a ratio. False −: share of good sweeps with less than half the',
    'usual weight; false +: of bad ones with more; rank: of weights with the true quietness; area: 1 tells good from bad, 0.5 is',
    'chance. Stops: when each rule would have ended the session. 10 looks: false alarms of ten looks at 5 % each, from 400 runs',
    'of groups turned upside down; present: the first look above limits that keep all ten together at 5 % (Pocock spending).',
  ].join('\n');
}

/** Runs the lanes through the levels of an axis; progress goes to a terminal. */
export function breakdownWithProgress(
  document: object,
  axis: BreakdownAxis,
  order: { seed: string; replicates: number; lanes: LaneSetting[] },
): BreakdownCurve[] {
  return withProgress(breakdownCurves(document, axis, order), axis.id);
}

/** The key `breakdown` of the JSON contract. */
export function breakdownJson(axis: BreakdownAxis, curves: readonly BreakdownCurve[]): object {
  return {
    axis: axis.id,
    unit: axis.unit,
    lanes: curves.map(({ strategy, points, breakdown }) => ({
      strategy,
      level: orNull(breakdown.level),
      cause: breakdown.cause,
      points: points.map(({ level, noise, gain }) => ({ level, noiseNv: orNull(noise), gain: orNull(gain) })),
    })),
  };
}

/** Noise and gain at every level, a pair of columns for each lane, and where each breaks down. */
export function breakdownText(axis: BreakdownAxis, curves: readonly BreakdownCurve[]): string {
  const titles = laneTitles(
    curves,
    curves.map((lane) => laneName(lane)),
  );
  const rows = curves[0].points.map(({ level }, j) => [
    String(Number(level.toPrecision(4))),
    ...curves.flatMap(({ points }) => [shown(points[j].noise, 1), shown(points[j].gain, 2)]),
  ]);
  const verdicts = curves.map(({ breakdown }, k) =>
    breakdown.cause === 'none'
      ? `${titles[k]}: holds over the whole curve.`
      : `${titles[k]}: breaks down at ${Number(breakdown.level.toPrecision(3))}${axis.unit ? ` ${axis.unit}` : ''}, by its ${breakdown.cause}.`,
  );
  return [
    `Breakdown: ${axis.label}${axis.unit ? `, ${axis.unit}` : ''}; noise in nV rms, gain`,
    '',
    textTable([['level', ...titles.flatMap((title) => [title, 'gain'])], ...rows]),
    '',
    ...verdicts,
    'Broken down: the noise has doubled against the first level, or the gain is off by more than 0.1 beyond chance.',
  ].join('\n');
}
