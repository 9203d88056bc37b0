import type { AveragingStrategy } from '../core/averaging/strategy.ts';
import type { PlayingNoise } from '../core/noise/noiseSource.ts';
import type { Figure } from '../core/reading/figure.ts';
import type { ReadPeak } from '../core/reading/readPeaks.ts';
import type { ResponseReading } from '../core/reading/readResponse.ts';
import type { Scenario } from '../core/scenario/schema.ts';
import { TRUTH_LABELS } from '../core/session/chosenTruth.ts';
import { type LaneDetection, laneDetection } from '../core/session/laneDetection.ts';
import { type LaneReadings, laneReadings } from '../core/session/laneReadings.ts';
import { type LaneSetting, laneName } from '../core/session/lanes.ts';
import { laneTitles } from './laneOption.ts';
import { withProgress } from './progress.ts';
import { csvTable, orNull, shown, textTable } from './table.ts';

/** Readings of the seed's own run, with tests for a response. */
export interface RaceReadings extends LaneReadings {
  /** One for each lane. */
  detections: LaneDetection[];
}

type ReadLane = LaneReadings['lanes'][0];

const DETECTION_KEYS = [
  ...([
    'fsp',
    'fspP',
    'fmp',
    'fmpP',
    'fmpBootstrapP',
    'splitCorrelation',
    'splitP',
    'fallOverGap',
    'fallP',
    'hotellingP',
  ] as const),
] as const;

/** Reads the peaks off every strategy's average, for the seed's own run; progress goes to a terminal. */
export function readingsWithProgress(
  scenario: Scenario,
  seed: string,
  lanes: readonly LaneSetting[],
  outside: readonly AveragingStrategy[] = [],
  background?: (seed: string) => PlayingNoise,
): RaceReadings {
  const readings = withProgress(laneReadings(scenario, seed, lanes, outside, background), 'reading');
  const detections = withProgress(laneDetection(scenario, seed, lanes, outside, background), 'testing');
  return { ...readings, detections };
}

/** The key `reading` of the JSON contract; tests/cli/raceReading.test.ts holds it. */
export function readingJson({ lanes, truth, rectifiedUv, detections }: RaceReadings): object {
  return {
    rectifiedUv: orNull(rectifiedUv),
    truth: { peaks: truth.peaks.map(peakJson), figures: truth.figures.map(figureJson) },
    lanes: lanes.map(({ strategy, reading, errors, shapeCorrelation }, k) => ({
      strategy,
      detection: {
        turned: detections[k].turned,
        ...Object.fromEntries(DETECTION_KEYS.map((key) => [key, orNull(detections[k][key])])),
      },
      shapeCorrelation: orNull(shapeCorrelation),
      peaks: reading.peaks.map(peakJson),
      figures: reading.figures.map(figureJson),
      errors: errors.map(({ name, latencyErrorMs, amplitudeErrorUv, toTroughErrorUv, toTroughGain }) => ({
        name,
        latencyErrorMs: orNull(latencyErrorMs),
        amplitudeErrorUv: orNull(amplitudeErrorUv),
        toTroughErrorUv: orNull(toTroughErrorUv),
        toTroughGain: orNull(toTroughGain),
      })),
    })),
  };
}

function peakJson(peak: ReadPeak): object {
  return {
    name: peak.name,
    latencyMs: orNull(peak.latencyMs),
    latencySdMs: orNull(peak.latencySdMs),
    amplitudeUv: orNull(peak.amplitudeUv),
    amplitudeSdUv: orNull(peak.amplitudeSdUv),
    toTroughUv: orNull(peak.toTroughUv),
    toTroughSdUv: orNull(peak.toTroughSdUv),
    troughMs: orNull(peak.troughMs),
    clear: peak.clear,
  };
}

function figureJson({ name, unit, value, sd, low, high, meaningful }: Figure): object {
  return { name, unit, value: orNull(value), sd: orNull(sd), low: orNull(low), high: orNull(high), meaningful };
}

/** The readings as lines of comma-separated values, with the given columns in front of each. */
export function readingCsv(
  header: readonly string[],
  provenance: readonly (string | number)[],
  { lanes, truth, detections }: RaceReadings,
): string {
  const line = (strategy: string, item: string, unit: string, value: number, sd: number, low: number, high: number) => [
    ...[...provenance, strategy, item, unit, value, sd, low, high, realValue(truth, item)],
  ];
  const rows = lanes.flatMap(({ strategy, reading }, k) => [
    line(strategy, 'p of Fsp', '', detections[k].fspP, NaN, NaN, NaN),
    line(strategy, 'p of Fmp', '', detections[k].fmpP, NaN, NaN, NaN),
    line(strategy, 'bootstrap p of Fmp', '', detections[k].fmpBootstrapP, NaN, NaN, NaN),
    line(strategy, 'p of split r', '', detections[k].splitP, NaN, NaN, NaN),
    line(strategy, 'p of 3:1', '', detections[k].fallP, NaN, NaN, NaN),
    line(strategy, 'p of T²', '', detections[k].hotellingP, NaN, NaN, NaN),
    ...reading.peaks.flatMap((peak) => [
      line(strategy, `${peak.name} latency`, 'ms', peak.latencyMs, peak.latencySdMs, NaN, NaN),
      line(strategy, `${peak.name} amplitude`, 'µV', peak.amplitudeUv, peak.amplitudeSdUv, NaN, NaN),
      line(strategy, `${peak.name} to trough`, 'µV', peak.toTroughUv, peak.toTroughSdUv, NaN, NaN),
    ]),
    ...reading.figures.map(({ name, unit, value, sd, low, high }) => line(strategy, name, unit, value, sd, low, high)),
  ]);
  return csvTable([[...header, 'strategy', 'item', 'unit', 'value', 'sd', 'low', 'high', 'truth'], ...rows]);
}

function realValue({ peaks, figures }: ResponseReading, item: string): number {
  for (const peak of peaks) {
    if (item === `${peak.name} latency`) return peak.latencyMs;
    if (item === `${peak.name} amplitude`) return peak.amplitudeUv;
    if (item === `${peak.name} to trough`) return peak.toTroughUv;
  }
  return figures.find(({ name }) => name === item)?.value ?? NaN;
}

/** The readings as tables: tests for a response, peaks of each strategy beside the truth, then intervals and ratios. */
export function readingText(
  scenario: Scenario,
  { lanes, truth, detections }: RaceReadings,
  outside: readonly AveragingStrategy[] = [],
): string {
  const titles = laneTitles(
    lanes,
    lanes.map((lane) => laneName(lane, outside)),
  );
  const parts = [textTable([TEST_HEADER, ...detections.map((entry, k) => testRow(entry, titles[k]))])];
  const peaks = lanes.flatMap((lane, k) => peakRows(lane, truth, titles[k]));
  if (peaks.length > 0) parts.push(textTable([PEAK_HEADER, ...peaks], [0, 1]));
  const figures = lanes.flatMap((lane, k) => figureRows(lane, truth, titles[k]));
  if (figures.length > 0) parts.push(textTable([FIGURE_HEADER, ...figures], [0, 1]));
  return [
    parts.join('\n\n'),
    '',
    "Tests: the seed's own run; p: how often chance alone does as much; one look, and a hum that locks counts as a response.",
    'Groups: 499 random flips of groups of sweeps under the final weights; boot p: groups without the response, drawn again;',
    'T² on 20 bins of time as an F. Sweeps: the weights depend on the average so far, or it is no weighted mean, so signs are',
    'turned before the average is made, 99 times (39 if that takes long). 3:1: largest fall over the gap of the split buffers.',
    `Reading: ± is what the noise of the average gives; truth: ${TRUTH_LABELS[scenario.measures.truth]}, read by the same rules. A peak is sought`,
    'where the response is expected, and measured from the zero line and down to the trough that follows. ? not clear: its',
    'fall is less than three times its noise, so it may be no peak at all.',
  ].join('\n');
}

const TEST_HEADER = ['strategy', 'Fsp', 'p', 'Fmp', 'p', 'boot p', 'split r', 'p', '3:1', 'p', 'p of T²', 'turned'];

function testRow(lane: LaneDetection, title: string): string[] {
  return [
    ...[title, shown(lane.fsp, 2), pText(lane.fspP), shown(lane.fmp, 2), pText(lane.fmpP)],
    pText(lane.fmpBootstrapP),
    ...[shown(lane.splitCorrelation, 2), pText(lane.splitP), shown(lane.fallOverGap, 2), pText(lane.fallP)],
    ...[pText(lane.hotellingP), lane.turned],
  ];
}

/** Three decimals are all that 499 flips can tell. */
function pText(p: number): string {
  return p < 0.001 ? '<0.001' : shown(p, 3);
}

const PEAK_HEADER = [
  ...['strategy', 'peak', 'ms', '±', 'off by', 'µV from zero', '±', 'off by', 'µV to trough', '±', 'of the truth'],
];

function peakRows({ reading, errors }: ReadLane, truth: ResponseReading, name: string): string[][] {
  const missing = truth.peaks.filter((peak) => !reading.peaks.some((other) => other.name === peak.name));
  const rows = reading.peaks.map((peak) => {
    const error = errors.find((entry) => entry.name === peak.name);
    return [
      ...[`${peak.name}${peak.clear ? '' : ' ?'}`, shown(peak.latencyMs, 2), shown(peak.latencySdMs, 2)],
      ...[signed(error?.latencyErrorMs, 2), shown(peak.amplitudeUv, 3), shown(peak.amplitudeSdUv, 3)],
      ...[signed(error?.amplitudeErrorUv, 3), shown(peak.toTroughUv, 3), shown(peak.toTroughSdUv, 3)],
      shown(error?.toTroughGain, 2),
    ];
  });
  const lost = missing.map((peak) => [peak.name, 'not found', ...new Array(8).fill('')]);
  return [...rows, ...lost].map((row, k) => [k === 0 ? name : '', ...row]);
}

const FIGURE_HEADER = ['strategy', 'figure', 'value', '95 % interval', 'truth'];

function figureRows({ reading }: ReadLane, truth: ResponseReading, name: string): string[][] {
  return reading.figures.map(({ name: title, unit, value, low, high, meaningful }, k) => {
    const decimals = unit === '%' ? 0 : unit === 'µV' ? 3 : 2;
    const real = truth.figures.find((figure) => figure.name === title)?.value;
    return [
      k === 0 ? name : '',
      title,
      meaningful ? `${shown(value, decimals)}${unit === '' ? '' : ` ${unit}`}` : 'means nothing',
      Number.isFinite(low) && Number.isFinite(high) ? `${shown(low, decimals)} to ${shown(high, decimals)}` : 'no end',
      shown(real, decimals),
    ];
  });
}

function signed(value: number | undefined, decimals: number): string {
  return value !== undefined && value > 0 ? `+${shown(value, decimals)}` : shown(value, decimals);
}
