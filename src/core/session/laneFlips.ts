import { finalShares } from '../averaging/finalShares.ts';
import type { AveragingContext, AveragingStrategy, SweepMeta, VerdictListener } from '../averaging/strategy.ts';
import { evenPoints, fRatio } from '../quality/fsp.ts';
import { groupedSweeps, readGroupNoiseUv2 } from '../quality/groupedSweeps.ts';
import { hotellingTest } from '../quality/hotelling.ts';
import { splitCorrelation } from '../quality/splitCorrelation.ts';
import { fallOverGap, fallReach } from '../quality/visualRule.ts';
import { nextWord, stream } from '../random/stream.ts';
import { laneField } from './laneField.ts';
import type { LaneSetting } from './lanes.ts';

/** Sweeps of a run with what came along with each, so that a lane can be run on them again. */
export interface KeptSweeps {
  sweepsUv: Float64Array[];
  metas: SweepMeta[];
}

const TEST_POINTS = 20; // our choice

/** Statistics of an average that are large for a response; NaN for what cannot be told. */
export interface ResponseStatistics {
  fsp: number;
  fmp: number;
  splitCorrelation: number;
  /** Largest fall of the average over the mean gap of the split buffers: 3 or more is present by the 3:1 rule. */
  fallOverGap: number;
  tSquared: number;
}

/**
 * Tests whether a lane's average holds a response, whatever the strategy: signs are turned *before* the averager.
 *
 *     p = (1 + number of flips whose statistic ≥ that of the recording)/(1 + flips)
 *
 * Groups of successive sweeps (those of `groupedSweeps`: at most 128, whole pairs) are turned upside down at random, and the
 * lane is run on them from the first sweep: weights, templates and choices are made anew. Without a response such a recording
 * is as likely as the real one, so every p is exact for any strategy if groups are independent and noise has no sign.
 * A hum that locks is a response to it. Where a strategy follows a hum or drift from sweep to sweep, turning breaks what it
 * follows: p is then too large rather than too small. Costs `flips` times the averager, no more simulation.
 *
 * The statistics are of the average and split buffers as the lane gives them; noise² is the scatter of groups under the
 * final shares, which for approximate shares is a summary: that costs power, not validity.
 *
 * @param flips - number of runs with turned signs   @param seed - names the stream: same seed, same p
 * @returns a generator of progress 0 … 1, then the statistics of the recording and the p of each
 */
export function* laneFlipTest(
  setting: LaneSetting,
  context: AveragingContext,
  kept: KeptSweeps,
  flips: number,
  seed: string,
  outside: readonly AveragingStrategy[] = [],
): Generator<number, { values: ResponseStatistics; p: ResponseStatistics }> {
  const sweepCount = kept.sweepsUv.length;
  const perGroup = sweepsPerGroup(sweepCount);
  const random = stream(seed, 'null/lane-flip');
  const signs = new Int8Array(sweepCount).fill(1);
  const values = statisticsOf(setting, context, kept, signs, outside);
  const names = Object.keys(values) as (keyof ResponseStatistics)[];
  const p = { ...values };
  for (const name of names) p[name] = Number.isNaN(values[name]) ? NaN : 1 / (1 + flips);
  for (let flip = 0; flip < flips; flip++) {
    for (let k = 0; k < sweepCount; k += perGroup) signs.fill(nextWord(random) < 0 ? -1 : 1, k, k + perGroup);
    const chance = statisticsOf(setting, context, kept, signs, outside);
    for (const name of names) {
      if (!(chance[name] < values[name])) p[name] += 1 / (1 + flips); // what cannot be told counts against the response
    }
    yield (flip + 1) / flips;
  }
  return { values, p };
}

/** Group length that `groupedSweeps` comes to after so many sweeps. */
function sweepsPerGroup(sweepCount: number): number {
  const gatherer = groupedSweeps(0, 1);
  const sweepUv = new Float64Array(1);
  for (let k = 0; k < sweepCount; k++) gatherer.add(sweepUv);
  return gatherer.groups().sweepsPerGroup;
}

/** Runs a lane on the kept sweeps with the given signs and works out the statistics at the end. */
function statisticsOf(
  setting: LaneSetting,
  context: AveragingContext,
  { sweepsUv, metas }: KeptSweeps,
  signs: Int8Array,
  outside: readonly AveragingStrategy[],
): ResponseStatistics {
  const { samplesPerSweep, analysisFrom: from, analysisTo: to } = context;
  const decisions: { index: number; weight: number; fade: number }[] = [];
  const listener: VerdictListener = ({ index, weight, fade }) => void decisions.push({ index, weight, fade });
  const field = laneField([setting], context, [listener], outside);
  const turnedUv = new Float64Array(samplesPerSweep);
  for (const [k, sweepUv] of sweepsUv.entries()) {
    turn(sweepUv, signs[k], turnedUv);
    field.add(turnedUv, signs[k] === 1 ? metas[k] : turnedMeta(metas[k]));
  }
  const [{ averager }] = field.finish();
  const [averageUv, bufferAUv, bufferBUv] = [0, 1, 2].map(() => new Float64Array(samplesPerSweep));
  averager.read(averageUv);
  averager.readPair(bufferAUv, bufferBUv);
  field.release();
  const shares = finalShares(decisions, sweepsUv.length);
  const gatherer = groupedSweeps(from, to);
  for (const [k, sweepUv] of sweepsUv.entries()) {
    turn(sweepUv, signs[k], turnedUv);
    gatherer.add(turnedUv, shares[k]);
  }
  const groups = gatherer.groups();
  const windowUv = averageUv.subarray(from, to);
  const noiseUv2 = new Float64Array(to - from);
  readGroupNoiseUv2(groups, windowUv, noiseUv2);
  return {
    fsp: fRatio(windowUv, noiseUv2, evenPoints(to - from, 1)),
    fmp: fRatio(windowUv, noiseUv2, testPoints(to - from)),
    splitCorrelation: splitCorrelation(bufferAUv, bufferBUv, from, to),
    fallOverGap: fallOverGap(averageUv, bufferAUv, bufferBUv, from, to, fallReach(from, to)),
    tSquared: hotellingTest(groups, testPoints(to - from).length).tSquared,
  };
}

/** Points of the window at which Fmp knows the noise; as many bins has Hotelling's test. */
export function testPoints(pointCount: number): number[] {
  return evenPoints(pointCount, Math.min(TEST_POINTS, pointCount));
}

function turn(samplesUv: Float64Array, sign: number, outUv: Float64Array): void {
  for (let i = 0; i < samplesUv.length; i++) outUv[i] = sign * samplesUv[i];
}

function turnedMeta(meta: SweepMeta): SweepMeta {
  if (!meta.interval) return meta;
  const samplesUv = new Float64Array(meta.interval.samplesUv.length);
  turn(meta.interval.samplesUv, -1, samplesUv);
  return { ...meta, interval: { ...meta.interval, samplesUv } };
}
