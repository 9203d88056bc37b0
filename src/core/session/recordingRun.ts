import { type Baseline, removeBaseline } from '../averaging/baseline.ts';
import type { AveragingContext, AveragingStrategy } from '../averaging/strategy.ts';
import { butterworth } from '../chain/filters.ts';
import { zeroPhase } from '../chain/zeroPhase.ts';
import { splitCorrelation } from '../quality/splitCorrelation.ts';
import { nextUniform, nextWord, type Stream, stream } from '../random/stream.ts';
import { type LaneSetting, laneReader, openLane } from './lanes.ts';

/** One channel of a real recording with the instants of its stimuli. */
export interface RecordedSignal {
  samplesUv: Float64Array;
  sampleRateHz: number;
  eventTimesS: readonly number[];
  /** One per event: +1 condensation, −1 rarefaction; left out where all are alike. */
  polarities?: readonly (1 | -1)[];
  /** Stretches that were not recorded: no sweep may touch them. */
  missing?: readonly { startS: number; endS: number }[];
}

/** How to cut and average a real recording. */
export interface RecordingOrder {
  /** Start and end of a sweep relative to its event, ms. */
  windowMs: readonly [number, number];
  /** Corners of the zero-phase band-pass, Hz (second order each way). */
  bandHz: readonly [number, number];
  /** Part of the window over which noise and correlation are measured, ms; by default all of it after the event. */
  analysisMs?: readonly [number, number];
  /** By default the mean before the event, or a straight line if the window starts at or after it. */
  baseline?: Baseline;
  lanes: readonly LaneSetting[];
  /** Replaces the rejection limit by 2.5 times the median peak of the sweeps: a start for an unknown amplifier. */
  automaticThreshold?: boolean;
  /** Strategies that are not the lab's own, for lanes that name them. */
  outside?: readonly AveragingStrategy[];
  /** For random windows and random halves. */
  seed: string;
}

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
const HUGE_UV = 1e9; // a thousand volts: no amplifier of a living body gives more
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
  const { sampleRateHz, from, context, baseline } = checkOrder(signals, order);
  const sections = [
    ...butterworth('high-pass', 2, order.bandHz[0], sampleRateHz),
    ...butterworth('low-pass', 2, order.bandHz[1], sampleRateHz),
  ];
  const filtered = signals.map(({ samplesUv }) => zeroPhase(sections, samplesUv, (3 * sampleRateHz) / order.bandHz[0]));

  /** Cuts one sweep at an event sample; null if it reaches beyond the recording or into a gap. */
  const cut = (recording: number, eventSample: number): Float64Array | null => {
    const first = eventSample + from;
    const end = first + context.samplesPerSweep;
    if (!(first >= 0 && end <= filtered[recording].length)) return null;
    const { missing = [] } = signals[recording];
    if (missing.some(({ startS, endS }) => first < endS * sampleRateHz && end > startS * sampleRateHz)) return null;
    const sweepUv = filtered[recording].slice(first, end);
    removeBaseline(sweepUv, baseline, context.preSampleCount);
    return sweepUv;
  };

  const sweepsUv: Float64Array[] = [];
  const timesS: number[] = [];
  const polarities: (1 | -1)[] = [];
  const placements: number[] = []; // recording of each sweep
  let eventsSkipped = 0;
  let elapsedS = 0;
  for (const [recording, signal] of signals.entries()) {
    const { eventTimesS, samplesUv } = signal;
    for (const [k, timeS] of eventTimesS.entries()) {
      const sweepUv = cut(recording, Math.round(timeS * sampleRateHz));
      if (sweepUv) {
        sweepsUv.push(sweepUv);
        timesS.push(elapsedS + timeS);
        polarities.push(signal.polarities?.[k] ?? 1);
        placements.push(recording);
      } else eventsSkipped++;
    }
    elapsedS += samplesUv.length / sampleRateHz;
  }
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
  const cutAnywhere = (recording: number, k: number): Float64Array => {
    const room = filtered[recording].length - context.samplesPerSweep;
    for (let attempt = 0; attempt < 100; attempt++) {
      const sweepUv = cut(recording, Math.floor(nextUniform(randomDraws) * (room + 1)) - from);
      if (sweepUv) return sweepUv;
    }
    return sweepsUv[k];
  };
  const randomSets = Array.from({ length: RANDOM_SETS }, () => placements.map(cutAnywhere));
  const halves = Array.from({ length: HALVINGS }, (_, k) =>
    randomHalf(stream(order.seed, 'recording/halves', k), sweepsUv.length),
  );
  return {
    lanes: lanes.map((lane) =>
      measureLane(lane, order.outside, context, { sweepsUv, timesS, polarities }, randomSets, halves),
    ),
    sampleRateHz,
    firstSampleMs: (1000 * from) / sampleRateHz,
    sweepsOffered: sweepsUv.length,
    eventsSkipped,
    sweepsUv,
  };
}

function checkOrder(signals: readonly RecordedSignal[], order: RecordingOrder) {
  if (signals.length === 0) throw new RangeError('runRecording: at least one recording is needed, got none');
  const { sampleRateHz } = signals[0];
  for (const signal of signals) {
    if (signal.sampleRateHz !== sampleRateHz) {
      throw new RangeError(
        `runRecording: all must have ${sampleRateHz} Hz like the first, got ${signal.sampleRateHz} Hz`,
      );
    }
  }
  for (const [recording, { samplesUv }] of signals.entries()) {
    const at = samplesUv.findIndex((value) => !(value > -HUGE_UV && value < HUGE_UV));
    if (at >= 0) {
      const rule = `samples must lie within ±${HUGE_UV} µV`;
      throw new RangeError(
        `runRecording: ${rule}, got ${samplesUv[at]} at sample ${at + 1} of recording ${recording + 1}`,
      );
    }
  }
  const [lowHz, highHz] = order.bandHz;
  if (!(lowHz > 0 && highHz > lowHz && highHz < sampleRateHz / 2)) {
    const rule = `must rise from above 0 to below half the sample rate (${sampleRateHz / 2} Hz)`;
    throw new RangeError(`runRecording: band ${rule}, got ${lowHz},${highHz}`);
  }
  const shortestS = Math.min(...signals.map(({ samplesUv }) => samplesUv.length / sampleRateHz));
  if (!(lowHz >= 1 / shortestS && lowHz >= sampleRateHz * 1e-5)) {
    const least = Math.max(1 / shortestS, sampleRateHz * 1e-5);
    const rule = `band must begin at ${Number(least.toPrecision(3))} Hz or above for ${shortestS.toFixed(0)} s at ${sampleRateHz} Hz`;
    throw new RangeError(`runRecording: ${rule}, got ${order.bandHz.join(',')}`);
  }
  const [startMs, endMs] = order.windowMs;
  const samples = (ms: number) => Math.round((ms * sampleRateHz) / 1000);
  const from = samples(startMs);
  const samplesPerSweep = samples(endMs) - from;
  if (!(samplesPerSweep >= 8 && endMs > 0)) {
    throw new RangeError(
      `runRecording: window must end after the event and hold 8 samples, got ${startMs},${endMs} ms`,
    );
  }
  const [analysisStartMs, analysisEndMs] = order.analysisMs ?? [Math.max(0, startMs), endMs];
  if (
    !(analysisStartMs >= startMs && analysisEndMs <= endMs && samples(analysisEndMs) - samples(analysisStartMs) >= 4)
  ) {
    const rule = `must lie within ${startMs} to ${endMs} ms and hold 4 samples`;
    throw new RangeError(`runRecording: analysis window ${rule}, got ${analysisStartMs},${analysisEndMs}`);
  }
  const preSampleCount = Math.min(samplesPerSweep, Math.max(0, -from));
  const context: AveragingContext = {
    samplesPerSweep,
    sampleRateHz,
    preSampleCount,
    analysisFrom: samples(analysisStartMs) - from,
    analysisTo: samples(analysisEndMs) - from,
    respectFlags: true,
  };
  if (order.baseline === 'pre-stimulus' && preSampleCount === 0) {
    throw new RangeError(`runRecording: baseline pre-stimulus needs a window that begins before 0 ms, got ${startMs}`);
  }
  const baseline = order.baseline ?? (preSampleCount > 0 ? 'pre-stimulus' : 'linear');
  return { sampleRateHz, from, context, baseline };
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

/** The sweeps of a recording, with what comes along with each. */
interface CutSweeps {
  sweepsUv: readonly Float64Array[];
  timesS: readonly number[];
  polarities: readonly (1 | -1)[];
}

function measureLane(
  setting: LaneSetting,
  outside: RecordingOrder['outside'],
  context: AveragingContext,
  { sweepsUv, timesS, polarities }: CutSweeps,
  randomSets: readonly Float64Array[][],
  halves: readonly Uint8Array[],
): RecordedLane {
  const { analysisFrom, analysisTo, samplesPerSweep } = context;
  const read = laneReader(context);

  /** Averages the sweeps that `chosen` lets pass; sweeps are numbered anew, as a recording of their own. */
  function average(sweeps: readonly Float64Array[], chosen: (k: number) => boolean): Float64Array {
    const { averager } = openLane(setting, context, undefined, outside);
    let index = 0;
    for (const [k, sweepUv] of sweeps.entries()) {
      if (!chosen(k)) continue;
      averager.add(sweepUv, { index: index++, timeS: timesS[k], polarity: polarities[k], overRange: false });
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
  const every = Math.max(1, Math.floor(sweepsUv.length / 100));
  for (const [k, sweepUv] of sweepsUv.entries()) {
    running.averager.add(sweepUv, { index: k, timeS: timesS[k], polarity: polarities[k], overRange: false });
    if ((k + 1) % every === 0 || k + 1 === sweepsUv.length) curve.push([k + 1, 1000 * running.averager.ownNoiseUv()]);
  }
  const averageUv = new Float64Array(samplesPerSweep);
  running.averager.read(averageUv);
  const bufferAUv = new Float64Array(samplesPerSweep);
  const bufferBUv = new Float64Array(samplesPerSweep);
  running.averager.readPair(bufferAUv, bufferBUv);
  const reading = read(running, null);

  let halvesSum = 0;
  for (const marks of halves) {
    const first = average(sweepsUv, (k) => marks[k] === 1);
    const second = average(sweepsUv, (k) => marks[k] === 0);
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
