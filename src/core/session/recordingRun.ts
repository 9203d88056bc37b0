import { removeBaseline } from '../averaging/baseline.ts';
import type { AveragingContext, IntervalSamples, SweepMeta } from '../averaging/strategy.ts';
import { butterworth } from '../chain/filters.ts';
import { zeroPhase } from '../chain/zeroPhase.ts';
import { splitCorrelation } from '../quality/splitCorrelation.ts';
import { nextUniform, nextWord, type Stream, stream } from '../random/stream.ts';
import { type LaneSetting, laneReader, openLane } from './lanes.ts';
import { checkOrder, type RecordedSignal, type RecordingOrder } from './recordingOrder.ts';

/** What can be known of a strategy on a real recording. Truth is not. */
export interface RecordedLane extends LaneSetting {
  /** The strategy's own claim, nV rms over the analysis window. */
  ownNoiseNv: number;
  /** Correlation of the split-buffer pair under the strategy's own weights. */
  splitCorrelation: number;
  /** Mean correlation of the averages of two random halves of the sweeps, over 40 ways to halve them. */
  halvesCorrelation: number;
  /** Size of the average, nV rms over the analysis window. */
  averageNv: number;
  /** Size of such an average where there is no stimulus: windows at random times, nV rms over 20 sets. */
  randomWindowNv: number;
  sweepsUsed: number;
  effectiveSweeps: number;
  averageUv: Float64Array;
  /** The two split buffers, µV. */
  bufferAUv: Float64Array;
  bufferBUv: Float64Array;
  /** [sweeps offered, own claim nV] as the run goes on. */
  curve: [number, number][];
}

export interface RecordingResult {
  lanes: RecordedLane[];
  sampleRateHz: number;
  /** Time of the first sample of a sweep, ms after the event. */
  firstSampleMs: number;
  sweepsOffered: number;
  /** Events whose window reaches beyond the recording or into a gap. */
  eventsSkipped: number;
  /** The recorded sweeps, filtered, baseline removed: for a picture. */
  sweepsUv: Float64Array[];
}

const HALVINGS = 40;
const RANDOM_SETS = 20;

/**
 * Runs strategies on real sweeps and reports what is known there.
 *
 * Each signal is filtered on its own, then the sweeps of all of them are offered in order. The random-window baseline
 * moves every event to a random place of its recording: it shows how large an average is without a response, except
 * where a window happens to fall on one.
 *
 * @throws {RangeError} if band, window or rates do not fit, or no sweep fits: rule and value
 */
export function runRecording(signals: readonly RecordedSignal[], order: RecordingOrder): RecordingResult {
  const { sampleRateHz, from, context } = checkOrder(signals, order);
  const sections = [
    ...butterworth('high-pass', 2, order.bandHz[0], sampleRateHz),
    ...butterworth('low-pass', 2, order.bandHz[1], sampleRateHz),
  ];
  const filtered = signals.map(({ samplesUv }) => zeroPhase(sections, samplesUv, (3 * sampleRateHz) / order.bandHz[0]));

  const isWhole = (recording: number, first: number, end: number) =>
    first >= 0 &&
    end <= filtered[recording].length &&
    !signals[recording].missing?.some(({ startS, endS }) => first < endS * sampleRateHz && end > startS * sampleRateHz);
  const starts = [0]; // sample at which each recording begins, counted through all of them
  for (const { length } of filtered) starts.push(starts[starts.length - 1] + length);
  const usualGap = Math.max(0, usualBeat(signals, sampleRateHz) - context.samplesPerSweep);

  /** Cuts one sweep at an event sample, and what lies before it from `lowest` on; null if it reaches beyond or into a gap. */
  const cut = (recording: number, eventSample: number, lowest = 0): CutSweep | null => {
    const first = eventSample + from;
    const end = first + context.samplesPerSweep;
    if (!isWhole(recording, first, end)) return null;
    const sweepUv = filtered[recording].slice(first, end);
    removeBaseline(sweepUv, context.baseline, context.preSampleCount);
    const heardFrom = Math.min(first, Math.max(lowest, first - usualGap, 0));
    const heard = isWhole(recording, heardFrom, end) ? heardFrom : first;
    const interval = { samplesUv: filtered[recording].subarray(heard, end), firstSample: starts[recording] + heard };
    return { sweepUv, interval };
  };

  const sweeps: CutSweep[] = [];
  const timesS: number[] = [];
  const polarities: (1 | -1)[] = [];
  const placements: number[] = []; // recording of each sweep
  let eventsSkipped = 0;
  let elapsedS = 0;
  for (const [recording, signal] of signals.entries()) {
    const { eventTimesS, samplesUv } = signal;
    let lastEnd = 0;
    for (const [k, timeS] of eventTimesS.entries()) {
      const eventSample = Math.round(timeS * sampleRateHz);
      const sweep = cut(recording, eventSample, lastEnd);
      if (sweep) {
        lastEnd = eventSample + from + context.samplesPerSweep;
        sweeps.push(sweep);
        timesS.push(elapsedS + timeS);
        polarities.push(signal.polarities?.[k] ?? 1);
        placements.push(recording);
      } else eventsSkipped++;
    }
    elapsedS += samplesUv.length / sampleRateHz;
  }
  const sweepsUv = sweeps.map(({ sweepUv }) => sweepUv);
  if (sweepsUv.length < 8) {
    const found = `${sweepsUv.length} (of ${sweepsUv.length + eventsSkipped} events; the rest lie too near an end or a gap)`;
    throw new RangeError(`runRecording: at least 8 sweeps must fit in the recording, got ${found}`);
  }

  const lanes = order.lanes.map((lane) =>
    order.automaticThreshold && lane.strategy === 'threshold-rejection'
      ? { ...lane, parameters: { ...lane.parameters, thresholdUv: automaticThresholdUv(sweepsUv.map(largestUv)) } }
      : lane,
  );
  const randomDraws = stream(order.seed, 'recording/windows');
  /** A sweep at a random place of a recording; the k-th own sweep after so many gaps that no place was found. */
  const cutAnywhere = (recording: number, k: number): CutSweep => {
    const room = filtered[recording].length - context.samplesPerSweep;
    for (let attempt = 0; attempt < 100; attempt++) {
      const sweep = cut(recording, Math.floor(nextUniform(randomDraws) * (room + 1)) - from);
      if (sweep) return sweep;
    }
    return sweeps[k];
  };
  const randomSets = Array.from({ length: RANDOM_SETS }, () => placements.map(cutAnywhere));
  const halves = Array.from({ length: HALVINGS }, (_, k) =>
    randomHalf(stream(order.seed, 'recording/halves', k), sweepsUv.length),
  );
  return {
    lanes: lanes.map((lane) =>
      measureLane(lane, order.outside, context, { sweeps, timesS, polarities }, randomSets, halves),
    ),
    sampleRateHz,
    firstSampleMs: (1000 * from) / sampleRateHz,
    sweepsOffered: sweepsUv.length,
    eventsSkipped,
    sweepsUv,
  };
}

/**
 * A rejection limit for an amplifier that nobody knows: 2.5 times the median of the sweeps' peaks, to two digits.
 *
 * Assumes that most sweeps are clean. Our choice.
 *
 * @param peaksUv - largest absolute sample of each sweep, µV   @returns µV, at least 0.1
 * @example automaticThresholdUv([4, 1000, 10]) // 25
 */
export function automaticThresholdUv(peaksUv: readonly number[]): number {
  const sorted = [...peaksUv].sort((a, b) => a - b);
  return Math.max(0.1, Number((2.5 * sorted[Math.floor(sorted.length / 2)]).toPrecision(2)));
}

function largestUv(sweepUv: Float64Array): number {
  return sweepUv.reduce((peak, value) => Math.max(peak, Math.abs(value)), 0);
}

/** Marks a random half of the sweeps with 1. */
function randomHalf(draws: Stream, count: number): Uint8Array {
  const order = Uint32Array.from({ length: count }, (_, k) => k);
  for (let k = count - 1; k > 0; k--) {
    const other = (nextWord(draws) >>> 0) % (k + 1);
    const kept = order[k];
    order[k] = order[other];
    order[other] = kept;
  }
  const marks = new Uint8Array(count);
  for (let k = 0; k < Math.floor(count / 2); k++) marks[order[k]] = 1;
  return marks;
}

/** Median distance of two events that follow each other, samples; 0 for none. */
function usualBeat(signals: readonly RecordedSignal[], sampleRateHz: number): number {
  const beats = signals
    .flatMap(({ eventTimesS }) => eventTimesS.slice(1).map((timeS, k) => timeS - eventTimesS[k]))
    .sort((a, b) => a - b);
  return beats.length > 0 ? Math.round(beats[Math.floor(beats.length / 2)] * sampleRateHz) : 0;
}

/** A sweep with the recording since the sweep before, at most the usual gap back. */
interface CutSweep {
  sweepUv: Float64Array;
  interval: IntervalSamples;
}

/** The sweeps of a recording, with what comes along with each. */
interface CutSweeps {
  sweeps: readonly CutSweep[];
  timesS: readonly number[];
  polarities: readonly (1 | -1)[];
}

function measureLane(
  setting: LaneSetting,
  outside: RecordingOrder['outside'],
  context: AveragingContext,
  { sweeps, timesS, polarities }: CutSweeps,
  randomSets: readonly CutSweep[][],
  halves: readonly Uint8Array[],
): RecordedLane {
  const { analysisFrom, analysisTo, samplesPerSweep } = context;
  const read = laneReader(context);

  function metaOf({ interval }: CutSweep, k: number, index: number, hears: boolean | undefined): SweepMeta {
    const meta = { index, timeS: timesS[k], polarity: polarities[k], overRange: false };
    return hears ? { ...meta, interval } : meta;
  }

  /** Averages the sweeps that `chosen` lets pass; sweeps are numbered anew, as a recording of their own. */
  function average(offered: readonly CutSweep[], chosen: (k: number) => boolean): Float64Array {
    const { strategy, averager } = openLane(setting, context, undefined, outside);
    let index = 0;
    for (const [k, sweep] of offered.entries()) {
      if (chosen(k)) averager.add(sweep.sweepUv, metaOf(sweep, k, index++, strategy.usesInterval));
    }
    const averageUv = new Float64Array(samplesPerSweep);
    averager.read(averageUv);
    averager.release?.();
    return averageUv;
  }

  const rmsNv = (averageUv: Float64Array) => {
    let sum = 0;
    for (let i = analysisFrom; i < analysisTo; i++) sum += averageUv[i] * averageUv[i];
    return 1000 * Math.sqrt(sum / (analysisTo - analysisFrom));
  };

  const curve: [number, number][] = [];
  const running = openLane(setting, context, undefined, outside);
  const every = Math.max(1, Math.floor(sweeps.length / 100));
  for (const [k, sweep] of sweeps.entries()) {
    running.averager.add(sweep.sweepUv, metaOf(sweep, k, k, running.strategy.usesInterval));
    if ((k + 1) % every === 0 || k + 1 === sweeps.length) curve.push([k + 1, 1000 * running.averager.ownNoiseUv()]);
  }
  const averageUv = new Float64Array(samplesPerSweep);
  running.averager.read(averageUv);
  const bufferAUv = new Float64Array(samplesPerSweep);
  const bufferBUv = new Float64Array(samplesPerSweep);
  running.averager.readPair(bufferAUv, bufferBUv);
  const reading = read(running, null);

  let halvesSum = 0;
  for (const marks of halves) {
    const first = average(sweeps, (k) => marks[k] === 1);
    const second = average(sweeps, (k) => marks[k] === 0);
    halvesSum += splitCorrelation(first, second, analysisFrom, analysisTo);
  }
  let randomSum = 0;
  for (const set of randomSets) {
    const size = rmsNv(average(set, () => true));
    randomSum += size * size;
  }
  return {
    ...setting,
    ownNoiseNv: 1000 * reading.ownNoiseUv,
    splitCorrelation: reading.splitCorrelation,
    halvesCorrelation: halvesSum / halves.length,
    averageNv: rmsNv(averageUv),
    randomWindowNv: Math.sqrt(randomSum / randomSets.length),
    sweepsUsed: reading.usedCount,
    effectiveSweeps: reading.effectiveCount,
    averageUv,
    bufferAUv,
    bufferBUv,
    curve,
  };
}
