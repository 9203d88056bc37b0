import type { Scenario } from '../../core/scenario/schema.ts';
import { chosenTruth } from '../../core/session/chosenTruth.ts';
import { laneField } from '../../core/session/laneField.ts';
import { type LaneSetting, laneReader, racingLanesOf } from '../../core/session/lanes.ts';
import { checkpointSweeps } from '../../core/session/race.ts';
import { averagingContext, startSession, sweepMeta } from '../../core/session/session.ts';
import { type CheckpointReading, type LaneBatch, type SweepBatch, weightReasons } from './protocol.ts';

/** One run of the bench, sweep by sweep, gathered into batches. */
export interface SweepBatcher {
  /** Sweeps in the whole session. */
  sweepCount: number;
  /** Runs the next sweep past all lanes; false after the last. */
  addSweep(): boolean;
  pendingCount(): number;
  /** Empties what has gathered since the last call into a batch of its own buffers. */
  take(): SweepBatch;
}

interface PendingVerdict {
  index: number;
  weight: number;
  fade: number;
  measureUv: number;
  limitUv: number;
  reason: number;
}

interface PendingSweep {
  gazeDeg: number;
  moved: boolean;
  timeS: number;
  polarity: number;
  overRange: boolean[];
  recordedUv: Float32Array[];
}

/**
 * Opens a session with its lanes. The figures are those of `race` for the same scenario, seed and lanes.
 *
 * @param settings - the lanes; by default those of the scenario
 */
export function sweepBatcher(
  run: number,
  scenario: Scenario,
  seed: string,
  settings: readonly LaneSetting[] = racingLanesOf(scenario),
): SweepBatcher {
  const context = averagingContext(scenario);
  const { samplesPerSweep } = context;
  const channel = scenario.averaging.channel === 'ipsilateral' ? 0 : 1;
  const session = startSession(scenario, seed);
  const verdicts: PendingVerdict[][] = [];
  const field = laneField(
    settings,
    context,
    settings.map((_, lane) => {
      verdicts.push([]);
      return ({ index, weight, fade, measureUv, limitUv, reason }) => {
        verdicts[lane].push({ index, weight, fade, measureUv, limitUv, reason: weightReasons.indexOf(reason) });
      };
    }),
  );
  const readLane = laneReader(context);
  const truth = chosenTruth(scenario, seed, channel);
  const truthUv = new Float64Array(samplesPerSweep);
  const averageUv = new Float64Array(samplesPerSweep);
  const bufferAUv = new Float64Array(samplesPerSweep);
  const bufferBUv = new Float64Array(samplesPerSweep);
  const checkpoints = new Set(checkpointSweeps(session.sweepCount));
  let sweeps: PendingSweep[] = [];
  let readings: CheckpointReading[] = [];
  const watches = scenario.response.kind === 'ovemp' || scenario.child.present;
  let done = 0;

  function laneBatch(lane: number): LaneBatch {
    const pending = verdicts[lane];
    verdicts[lane] = [];
    const at = field.lanes[lane]; // one that judges in hindsight stands where the last checkpoint left it
    at.averager.read(averageUv);
    at.averager.readPair(bufferAUv, bufferBUv);
    return {
      index: Int32Array.from(pending, (verdict) => verdict.index),
      weight: Float64Array.from(pending, (verdict) => verdict.weight),
      fade: Float64Array.from(pending, (verdict) => verdict.fade),
      measureUv: Float64Array.from(pending, (verdict) => verdict.measureUv),
      limitUv: Float64Array.from(pending, (verdict) => verdict.limitUv),
      reason: Uint8Array.from(pending, (verdict) => verdict.reason),
      averageUv: Float32Array.from(averageUv),
      bufferAUv: Float32Array.from(bufferAUv),
      bufferBUv: Float32Array.from(bufferBUv),
      reading: readLane(at, truthUv),
    };
  }

  return {
    sweepCount: session.sweepCount,
    addSweep() {
      const sweep = session.nextSweep();
      if (!sweep) return false;
      const { timeS, polarity } = sweep;
      const meta = sweepMeta(sweep, channel, field);
      field.add(sweep.recordedUv[channel], meta);
      truth.add(sweep.truthUv[channel], sweep.recordedUv[channel]);
      const { gazeDeg = NaN, moved = false } = watches ? sweep.behaviour() : {};
      sweeps.push({
        gazeDeg,
        moved,
        timeS,
        polarity,
        overRange: [...sweep.overRange],
        recordedUv: sweep.recordedUv.map((samples) => Float32Array.from(samples)),
      });
      done++;
      if (checkpoints.has(done)) {
        truth.read(truthUv);
        readings.push({ sweeps: done, seconds: timeS, lanes: field.now().map((lane) => readLane(lane, truthUv)) });
      }
      if (done === session.sweepCount) field.finish();
      return true;
    },
    pendingCount: () => sweeps.length,
    take() {
      const count = sweeps.length;
      const channelCount = count > 0 ? sweeps[0].recordedUv.length : 0;
      const recordedUv = new Float32Array(count * channelCount * samplesPerSweep);
      for (let k = 0; k < count; k++) {
        for (let c = 0; c < channelCount; c++) {
          recordedUv.set(sweeps[k].recordedUv[c], (k * channelCount + c) * samplesPerSweep);
        }
      }
      truth.read(truthUv);
      const batch: SweepBatch = {
        kind: 'batch',
        run,
        firstIndex: done - count,
        count,
        timeS: Float64Array.from(sweeps, (sweep) => sweep.timeS),
        gazeDeg: Float32Array.from(sweeps, (sweep) => sweep.gazeDeg),
        moved: Uint8Array.from(sweeps, (sweep) => Number(sweep.moved)),
        polarity: Int8Array.from(sweeps, (sweep) => sweep.polarity),
        overRange: Uint8Array.from(sweeps.flatMap((sweep) => sweep.overRange.map(Number))),
        recordedUv,
        truthUv: Float32Array.from(truthUv),
        lanes: settings.map((_, lane) => laneBatch(lane)),
        checkpoints: readings,
        finished: done === session.sweepCount,
      };
      sweeps = [];
      readings = [];
      return batch;
    },
  };
}

/** The buffers of a batch that move to the page instead of being copied. */
export function batchBuffers(batch: SweepBatch): ArrayBuffer[] {
  const lanes = batch.lanes.flatMap(
    ({ index, weight, fade, measureUv, limitUv, reason, averageUv, bufferAUv, bufferBUv }) => [
      index,
      weight,
      fade,
      measureUv,
      limitUv,
      reason,
      averageUv,
      bufferAUv,
      bufferBUv,
    ],
  );
  const arrays = [
    batch.timeS,
    batch.gazeDeg,
    batch.moved,
    batch.polarity,
    batch.overRange,
    batch.recordedUv,
    batch.truthUv,
    ...lanes,
  ];
  return arrays.map((array) => array.buffer as ArrayBuffer);
}
