import type { Scenario } from '../../core/scenario/schema.ts';
import type { LaneReading, LaneSetting } from '../../core/session/lanes.ts';
import type { CheckpointReading } from './protocol.ts';
import { sweepBatcher } from './sweepBatcher.ts';

/** A session from its first sweep to its last, as it stands at the end. */
export interface FullRun {
  sweepCount: number;
  seconds: number;
  truthUv: Float32Array;
  lanes: {
    strategy: string;
    parameters: Record<string, number>;
    averageUv: Float32Array;
    bufferAUv: Float32Array;
    bufferBUv: Float32Array;
    reading: LaneReading;
  }[];
  checkpoints: CheckpointReading[];
}

const SWEEPS_PER_BATCH = 200; // raw sweeps are let go of that often: memory only

/** Runs a whole session past its lanes. @returns a generator of progress 0 … 1, then the run */
export function* fullRun(scenario: Scenario, seed: string, lanes: readonly LaneSetting[]): Generator<number, FullRun> {
  const batcher = sweepBatcher(1, scenario, seed, lanes);
  const checkpoints: CheckpointReading[] = [];
  for (;;) {
    let more = true;
    while (more && batcher.pendingCount() < SWEEPS_PER_BATCH) more = batcher.addSweep();
    const batch = batcher.take();
    checkpoints.push(...batch.checkpoints);
    const sweeps = batch.firstIndex + batch.count;
    if (more) {
      yield sweeps / batcher.sweepCount;
      continue;
    }
    return {
      sweepCount: sweeps,
      seconds: checkpoints.length > 0 ? checkpoints[checkpoints.length - 1].seconds : 0,
      truthUv: batch.truthUv,
      lanes: batch.lanes.map(({ averageUv, bufferAUv, bufferBUv, reading }, lane) => ({
        ...lanes[lane],
        averageUv,
        bufferAUv,
        bufferBUv,
        reading,
      })),
      checkpoints,
    };
  }
}
