import type { WeightReason } from '../../core/averaging/strategy.ts';
import type { Scenario } from '../../core/scenario/schema.ts';
import type { LaneReading, LaneSetting } from '../../core/session/lanes.ts';

/** Reasons in the order of their code in `LaneBatch.reason`. */
export const weightReasons: readonly WeightReason[] = ['waiting', 'taken', 'down-weighted', 'rejected', 'flagged'];

/** Stimulation seconds per second of the wall clock; null for as fast as possible. */
export type Speed = number | null;

/** What the page tells the worker of the bench. A newer `start` ends the older run. */
export type BenchRequest =
  | {
      kind: 'start';
      run: number;
      scenario: Scenario;
      lanes: LaneSetting[];
      seed: string;
      speed: Speed;
      running: boolean;
      /** So many sweeps are run at once, whatever speed and pause say: the run is taken up where another stood. */
      replaySweeps: number;
    }
  | { kind: 'speed'; speed: Speed }
  | { kind: 'run' }
  | { kind: 'pause' }
  | { kind: 'step' }
  | { kind: 'received' };

/** What one lane did with the sweeps of a batch, and where it stands after them. */
export interface LaneBatch {
  /** Number of the sweep of each verdict: delayed strategies speak of sweeps of earlier batches. */
  index: Int32Array;
  weight: Float64Array;
  fade: Float64Array;
  measureUv: Float64Array;
  limitUv: Float64Array;
  /** Place in `weightReasons`. */
  reason: Uint8Array;
  /** The average after the batch, µV; NaN before the first sweep counts. */
  averageUv: Float32Array;
  /** Its two split buffers, µV. */
  bufferAUv: Float32Array;
  bufferBUv: Float32Array;
  reading: LaneReading;
}

/** Readings of all lanes at one checkpoint of the race. */
export interface CheckpointReading {
  sweeps: number;
  seconds: number;
  lanes: LaneReading[];
}

/** A run of consecutive sweeps with everything that the pictures need. */
export interface SweepBatch {
  kind: 'batch';
  run: number;
  firstIndex: number;
  count: number;
  timeS: Float64Array;
  /** +1 or −1 per sweep. */
  polarity: Int8Array;
  /** Per sweep: upward gaze, °; NaN where gaze does not matter. */
  gazeDeg: Float32Array;
  /** Per sweep: 1 if a motion sensor on a child saw it move. */
  moved: Uint8Array;
  /** Per sweep and channel: 1 if over-range. */
  overRange: Uint8Array;
  /** Per sweep, channel and sample, µV. */
  recordedUv: Float32Array;
  /** The truth of the scenario's choice after the batch, µV. */
  truthUv: Float32Array;
  lanes: LaneBatch[];
  checkpoints: CheckpointReading[];
  finished: boolean;
}

/** What the worker of the bench tells the page. */
export type BenchReply =
  | SweepBatch
  /** `crashed`: not the scenario is to blame but the worker, which is gone; a new one may get through. */
  | { kind: 'failed'; run: number; message: string; crashed?: boolean };
