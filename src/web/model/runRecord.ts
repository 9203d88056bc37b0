import type { SweepVerdict } from '../../core/averaging/strategy.ts';
import { CHANNEL_COUNT } from '../../core/noise/noiseSource.ts';
import { timeToTarget } from '../../core/quality/timeToTarget.ts';
import type { Scenario } from '../../core/scenario/schema.ts';
import {
  type LaneReading,
  type LaneSetting,
  laneName,
  laneReader,
  openLane,
  racingLanesOf,
} from '../../core/session/lanes.ts';
import { averagingContext } from '../../core/session/session.ts';
import { presentationCount } from '../../core/stimulus/schedule.ts';
import { type CheckpointReading, type SweepBatch, weightReasons } from '../worker/protocol.ts';

const SMALLEST_FADE = 1e-200; // below this the shares would soon leave the range of doubles
const RAW_BYTES = 64e6; // our choice: raw sweeps kept for looking back; the default session needs 13 MB

/** What one lane has done so far. */
export interface LaneRecord {
  strategy: string;
  /** What the lane is called. */
  name: string;
  parameters: Record<string, number>;
  /** One per sweep: share at the decision, what was measured, its limit; the meaning is the strategy's. */
  weight: Float64Array;
  fade: Float64Array;
  measureUv: Float64Array;
  limitUv: Float64Array;
  /** One per sweep: place in `weightReasons`; 0 is waiting. */
  reason: Uint8Array;
  /** One per sweep: its share among all so far, later fading included, on a scale common to the lane. */
  share: Float64Array;
  /** Sum of the shares, and the number of sweeps decided on: share times count over sum is the normalised weight. */
  shareSum: number;
  decidedCount: number;
  /** Product of the fades so far: new shares are divided by it, instead of all old ones multiplied. */
  faded: number;
  averageUv: Float32Array;
  /** The two split buffers, µV. */
  bufferAUv: Float32Array;
  bufferBUv: Float32Array;
  reading: LaneReading;
}

/** Everything that a run has shown so far, for pictures and tables. Filled by batches, emptied by a restart. */
export class RunRecord {
  readonly scenario: Scenario;
  readonly samplesPerSweep: number;
  readonly preSampleCount: number;
  /** Sweeps in the whole session. */
  readonly sweepCount: number;
  /** How many of the latest raw sweeps can be looked at. */
  readonly keptCount: number;
  readonly timeS: Float64Array;
  readonly polarity: Int8Array;
  /** Upward gaze by a sensor, °, per sweep; NaN where gaze does not matter. */
  readonly gazeDeg: Float32Array;
  /** Per sweep: 1 if a motion sensor on a child saw it move. */
  readonly moved: Uint8Array;
  /** Per sweep and channel. */
  readonly overRange: Uint8Array;
  /** Largest absolute sample of the lanes' channel, µV, per sweep. */
  readonly peakUv: Float32Array;
  readonly lanes: LaneRecord[];
  truthUv: Float32Array;
  checkpoints: CheckpointReading[] = [];
  /** Sweeps offered so far. */
  offeredCount = 0;
  finished = false;
  private readonly raw: Float32Array;
  /** Channel on which the lanes compete: 0 ipsilateral, 1 contralateral. */
  readonly channel: number;

  /** @param settings - the lanes; by default those of the scenario */
  constructor(scenario: Scenario, settings: readonly LaneSetting[] = racingLanesOf(scenario)) {
    const context = averagingContext(scenario);
    const { samplesPerSweep, preSampleCount } = context;
    const readLane = laneReader(context);
    this.scenario = scenario;
    this.samplesPerSweep = samplesPerSweep;
    this.preSampleCount = preSampleCount;
    this.channel = scenario.averaging.channel === 'ipsilateral' ? 0 : 1;
    this.sweepCount = presentationCount(scenario);
    const floats = samplesPerSweep * CHANNEL_COUNT;
    this.keptCount = Math.max(64, Math.min(this.sweepCount, Math.floor(RAW_BYTES / (4 * floats))));
    this.raw = new Float32Array(this.keptCount * floats);
    this.timeS = new Float64Array(this.sweepCount);
    this.gazeDeg = new Float32Array(this.sweepCount).fill(NaN);
    this.moved = new Uint8Array(this.sweepCount);
    this.polarity = new Int8Array(this.sweepCount);
    this.overRange = new Uint8Array(this.sweepCount * CHANNEL_COUNT);
    this.peakUv = new Float32Array(this.sweepCount);
    this.truthUv = new Float32Array(samplesPerSweep).fill(NaN);
    this.lanes = settings.map((setting) => ({
      strategy: setting.strategy,
      name: laneName(setting),
      parameters: setting.parameters,
      weight: new Float64Array(this.sweepCount),
      fade: new Float64Array(this.sweepCount).fill(1),
      share: new Float64Array(this.sweepCount),
      measureUv: new Float64Array(this.sweepCount).fill(NaN),
      limitUv: new Float64Array(this.sweepCount).fill(NaN),
      reason: new Uint8Array(this.sweepCount),
      shareSum: 0,
      decidedCount: 0,
      faded: 1,
      averageUv: new Float32Array(samplesPerSweep).fill(NaN),
      bufferAUv: new Float32Array(samplesPerSweep).fill(NaN),
      bufferBUv: new Float32Array(samplesPerSweep).fill(NaN),
      reading: readLane(openLane(setting, context), null),
    }));
  }

  /** Stimulation time so far, s. */
  get seconds(): number {
    return this.offeredCount > 0 ? this.timeS[this.offeredCount - 1] : 0;
  }

  /** The first sweep that was complete after a time, s; −1 if there is none so far. */
  sweepAfter(timeS: number): number {
    if (!(this.seconds > timeS)) return -1;
    let low = 0;
    let high = this.offeredCount - 1;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (this.timeS[middle] > timeS) high = middle;
      else low = middle + 1;
    }
    return low;
  }

  /** Takes in the next batch of the same run. */
  add(batch: SweepBatch): void {
    const { firstIndex, count, recordedUv } = batch;
    const floats = this.samplesPerSweep * CHANNEL_COUNT;
    this.timeS.set(batch.timeS, firstIndex);
    this.gazeDeg.set(batch.gazeDeg, firstIndex);
    this.moved.set(batch.moved, firstIndex);
    this.polarity.set(batch.polarity, firstIndex);
    this.overRange.set(batch.overRange, firstIndex * CHANNEL_COUNT);
    for (let k = 0; k < count; k++) {
      const from = k * floats;
      this.raw.set(recordedUv.subarray(from, from + floats), ((firstIndex + k) % this.keptCount) * floats);
      const at = from + this.channel * this.samplesPerSweep;
      let peak = 0;
      for (let i = at; i < at + this.samplesPerSweep; i++) peak = Math.max(peak, Math.abs(recordedUv[i]));
      this.peakUv[firstIndex + k] = peak;
    }
    for (const [lane, record] of this.lanes.entries()) {
      const news = batch.lanes[lane];
      for (let j = 0; j < news.index.length; j++) {
        const index = news.index[j];
        record.weight[index] = news.weight[j];
        record.fade[index] = news.fade[j];
        record.measureUv[index] = news.measureUv[j];
        record.limitUv[index] = news.limitUv[j];
        record.reason[index] = news.reason[j];
        record.faded *= news.fade[j];
        if (record.faded < SMALLEST_FADE) rescale(record);
        record.share[index] = news.weight[j] / record.faded;
        record.shareSum += record.share[index];
      }
      record.decidedCount += news.index.length;
      record.averageUv = news.averageUv;
      record.bufferAUv = news.bufferAUv;
      record.bufferBUv = news.bufferBUv;
      record.reading = news.reading;
    }
    this.truthUv = batch.truthUv;
    this.checkpoints.push(...batch.checkpoints);
    this.offeredCount = firstIndex + count;
    this.finished = batch.finished;
  }

  /** The recorded samples of a sweep, µV; null if it is not there yet or no longer kept. */
  rawSweep(index: number, channel: number): Float32Array | null {
    if (!(index >= 0 && index < this.offeredCount && index >= this.offeredCount - this.keptCount)) return null;
    const at = ((index % this.keptCount) * CHANNEL_COUNT + channel) * this.samplesPerSweep;
    return this.raw.subarray(at, at + this.samplesPerSweep);
  }

  isOverRange(index: number, channel: number): boolean {
    return this.overRange[index * CHANNEL_COUNT + channel] === 1;
  }

  /** Weight of a sweep relative to the mean weight of its lane: w·N/Σw; NaN while nothing is decided. */
  normalisedWeight(lane: number, index: number): number {
    const { share, shareSum, decidedCount, reason } = this.lanes[lane];
    return shareSum > 0 && reason[index] > 0 ? (share[index] * decidedCount) / shareSum : NaN;
  }

  /** The lane's decision on a sweep, as its strategy explains it. */
  verdict(lane: number, index: number): SweepVerdict {
    const { weight, fade, measureUv, limitUv, reason } = this.lanes[lane];
    return {
      index,
      weight: weight[index],
      fade: fade[index],
      measureUv: measureUv[index],
      limitUv: limitUv[index],
      reason: weightReasons[reason[index]],
    };
  }

  /**
   * Second from which on the lane has stayed at or under the target so far; null if it is not there.
   *
   * @param by - the true residual noise, or the strategy's own claim where the truth is sealed
   */
  arrivalS(lane: number, by: 'residualNoiseUv' | 'ownNoiseUv'): number | null {
    const noiseNv = this.checkpoints.map((checkpoint) => 1000 * checkpoint.lanes[lane][by]);
    const arrived = timeToTarget(noiseNv, this.scenario.session.targetNv);
    return arrived < 0 ? null : this.checkpoints[arrived].seconds;
  }
}

/** Puts the fading so far into the shares themselves. */
function rescale(record: LaneRecord): void {
  record.shareSum *= record.faded;
  for (let k = 0; k < record.share.length; k++) record.share[k] *= record.faded;
  record.faded = 1;
}
