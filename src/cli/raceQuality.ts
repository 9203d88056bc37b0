import type { AveragingStrategy } from '../core/averaging/strategy.ts';
import { type Honesty, honesty } from '../core/quality/honesty.ts';
import type { Scenario } from '../core/scenario/schema.ts';
import { laneQuality, type RunQuality } from '../core/session/laneQuality.ts';
import type { LaneResult } from '../core/session/laneResult.ts';
import { type LaneSetting, laneName } from '../core/session/lanes.ts';
import { laneTitles } from './laneOption.ts';
import { withProgress } from './progress.ts';
import { csvTable, orNull, shown, textTable } from './table.ts';

/** The measures of one run, beside what the race found over its replicates. */
export interface RaceQuality extends RunQuality {
  raced: readonly LaneResult[];
}

/** Judges every strategy's weights and average, for the seed's own run; progress goes to a terminal. */
export function qualityWithProgress(
  scenario: Scenario,
  seed: string,
  lanes: readonly LaneSetting[],
  outside: readonly AveragingStrategy[],
  raced: readonly LaneResult[],
): RaceQuality {
  return { ...withProgress(laneQuality(scenario, seed, lanes, outside), 'judging'), raced };
}

/** The keys `quality` and `plusMinusOfPlainMean` of the JSON contract; tests/cli/raceQuality.test.ts holds them. */
export function qualityJson({ lanes, raced, ...run }: RaceQuality): object {
  return {
    plusMinusOfPlainMean: {
      bySweepsNv: orNull(1000 * run.plusMinusBySweepsUv),
      byPairsNv: orNull(1000 * run.plusMinusByPairsUv),
    },
    quality: lanes.map(({ strategy, neighbours, weights, stops, looks, ...one }, k) => ({
      strategy,
      plusMinusNv: orNull(1000 * one.plusMinusUv),
      residualNoiseNv: orNull(1000 * one.residualNoiseUv),
      noiseOnlyNv: orNull(1000 * one.noiseOnlyUv),
      biasNv: orNull(1000 * one.biasUv),
      ownNoiseNv: orNull(1000 * one.ownNoiseUv),
      expected: {
        totalNv: orNull(raced[k].expectedResidualNoiseNv.value),
        noiseOnlyNv: orNull(raced[k].parts?.noiseNv ?? NaN),
        biasNv: orNull(raced[k].parts?.biasNv ?? NaN),
      },
      honesty: Object.fromEntries(Object.entries(honestyOf(raced[k])).map(([key, value]) => [key, orNull(value)])),
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
    })),
  };
}

/** The quality of every lane as one line of comma-separated values each, with the given columns in front. */
export function qualityCsv(
  header: readonly string[],
  provenance: readonly (string | number)[],
  { lanes, raced, ...run }: RaceQuality,
  outside: readonly AveragingStrategy[],
): string {
  const stopColumns = lanes[0].stops.flatMap(({ rule }) => [`${rule} seconds`, `${rule} verdict`]);
  const columns = [
    ...['strategy', 'name', 'residualNoiseNv', 'noiseOnlyNv', 'biasNv', 'ownNoiseNv', 'plusMinusNv'],
    ...['expectedTotalNv', 'expectedNoiseOnlyNv', 'expectedBiasNv', 'plainBySweepsNv', 'plainByPairsNv'],
    ...['neighbours', 'neighboursLow', 'neighboursHigh', 'trueSnrDb', 'estimatedSnr'],
    ...['badShare', 'falseReject', 'falseAccept', 'rank', 'area', ...stopColumns],
    ...['looks', 'falseAlarms', 'presentAtLook', 'honesty', 'honestyMedian', 'honestyLow', 'honestyHigh', 'rosyShare'],
  ];
  const rows = lanes.map((lane, k) => [
    ...[...provenance, lane.strategy, laneName(lane, outside), 1000 * lane.residualNoiseUv, 1000 * lane.noiseOnlyUv],
    ...[1000 * lane.biasUv, 1000 * lane.ownNoiseUv, 1000 * lane.plusMinusUv, raced[k].expectedResidualNoiseNv.value],
    ...[raced[k].parts?.noiseNv ?? null, raced[k].parts?.biasNv ?? null],
    ...[1000 * run.plusMinusBySweepsUv, 1000 * run.plusMinusByPairsUv],
    ...[lane.neighbours.ratio, lane.neighbours.low, lane.neighbours.high, lane.trueSnrDb, lane.estimatedSnr],
    ...[lane.weights.badShare, lane.weights.falseReject, lane.weights.falseAccept],
    ...[lane.weights.rank, lane.weights.area],
    ...lane.stops.flatMap(({ seconds, verdict }) => [seconds, verdict]),
    ...[lane.looks?.count ?? null, lane.looks?.falseAlarms ?? null, lane.looks?.presentAt ?? null],
    ...honestyColumns(raced[k]),
  ]);
  return csvTable([[...header, ...columns], ...rows]);
}

function honestyOf({ runs }: LaneResult): Honesty {
  return honesty(
    runs.map(({ ownNoiseNv }) => ownNoiseNv),
    runs.map(({ noiseNv }) => noiseNv),
  );
}

function honestyColumns(lane: LaneResult): number[] {
  const { expected, median, low, high, rosyShare } = honestyOf(lane);
  return [expected, median, low, high, rosyShare];
}

function honestyCells(lane: LaneResult): string[] {
  const { expected, median, low, high, rosyShare } = honestyOf(lane);
  const rosy = Number.isFinite(rosyShare) ? `${shown(100 * rosyShare, 0)} %` : '–';
  return [shown(expected, 2), shown(median, 2), `${shown(low, 2)}–${shown(high, 2)}`, rosy];
}

/** The quality of every lane as tables, with what their columns mean. */
export function qualityText(
  scenario: Scenario,
  { lanes: qualities, raced, ...run }: RaceQuality,
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
  const parts = qualities.map((lane, k) => [
    titles[k],
    ...[lane.residualNoiseUv, lane.noiseOnlyUv, lane.biasUv].map((value) => shown(1000 * value, 1)),
    shown(raced[k].expectedResidualNoiseNv.value, 1),
    ...[raced[k].parts?.noiseNv, raced[k].parts?.biasNv].map((value) => shown(value, 1)),
    ...honestyCells(raced[k]),
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
      [
        ...['strategy', 'true nV', 'noise only', 'bias', 'expected nV', 'noise only', 'bias'],
        ...['honesty', 'median', 'middle 80 %', 'rosy'],
      ],
      ...parts,
    ]),
    '',
    textTable([
      ['strategy', '2000 sweeps', `${targetNv} nV claimed`, 'SNR 3 or 16 nV', 'out of reach', '10 looks', 'present'],
      ...ends,
    ]),
    '',
    `Plus-minus of the plain mean: ${shown(1000 * run.plusMinusBySweepsUv, 1)} nV by sweeps, ${shown(1000 * run.plusMinusByPairsUv, 1)} nV by pairs; one far above the other: something alternates.`,
    '',
    "Quality: the seed's own run. ±: noise by the difference of the split buffers. Blocks: claim from blocks of 32 sweeps over",
    'claim from sweeps; ! outside 99 % of chance: neighbours are not independent, so no claim of noise is to be trusted. SNR: true',
    'response over true noise; seen: as the claim lets one believe, a ratio. False −: share of good sweeps with less than half the',
    'usual weight; false +: of bad ones with more; rank: of weights with the true quietness; area: 1 tells good from bad, 0.5 is',
    'chance. Noise only: without what the weights did to the response; bias: that alone. Expected: over all replicates; bias is',
    'then what they have in common (– for one replicate; in one run where the average is no weighted sum of sweeps). Their squares',
    'add up to that of the whole; where chance leaves less than nothing for the bias, it is 0.0 and noise only exceeds the whole.',
    'Honesty: claim over true noise, all replicates, the middle one, the middle 80 %, and in how many less was claimed than is.',
    'Stops: when each rule would have ended the session. 10 looks: false alarms of ten looks at 5 % each, from 400 runs of',
    'groups turned upside down; present: the first look above limits that keep all ten together at 5 % (Pocock spending).',
  ].join('\n');
}
