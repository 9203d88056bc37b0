import { oracle } from '../averaging/oracle.ts';
import { plainMean } from '../averaging/plainMean.ts';
import type { Averager, AveragingStrategy } from '../averaging/strategy.ts';
import { exp, log } from '../elementary.ts';
import type { PlayingNoise } from '../noise/noiseSource.ts';
import { efficiency, type NoiseRuns } from '../quality/efficiency.ts';
import { type ErrorGatherer, gatherErrors } from '../quality/errorParts.ts';
import { type NoiseCurve, regret } from '../quality/regret.ts';
import { meanRectifiedUv } from '../reading/muscleFigures.ts';
import { NO_NOISE } from '../reading/noiseShape.ts';
import { type ResponseReading, readResponse } from '../reading/readResponse.ts';
import type { Scenario } from '../scenario/schema.ts';
import { beatS, presentationCount } from '../stimulus/schedule.ts';
import { chosenTruth } from './chosenTruth.ts';
import { laneField } from './laneField.ts';
import { type LaneResult, type RaceReading, summarise } from './laneResult.ts';
import { type LaneSetting, laneReader, openLane, racingLanesOf, verdictReader } from './lanes.ts';
import { readAverage } from './readAverage.ts';
import { averagingContext, startSession, sweepMeta } from './session.ts';

/** What to race. */
export interface RaceOrder {
  seed: string;
  /** Number of replicate patients; the first is the seed's own run. */
  replicates: number;
  targetNv: number;
  /** Competitors; by default those that the scenario names. */
  lanes?: LaneSetting[];
  /** Strategies that are not the lab's own, for lanes that name them. */
  outside?: readonly AveragingStrategy[];
  /** Also runs the oracle, which knows the true noise of every sweep, outside the contest. */
  oracle?: boolean;
  /** Also reads every lane's average at the end of each replicate, and its truth by the same rules. */
  readings?: boolean;
  /** Real background instead of simulated noise, for each replicate by its seed. */
  background?: (seed: string) => PlayingNoise;
}

export interface RaceResult {
  lanes: LaneResult[];
  /** What could have been reached with the true variances; null if it was not asked for. */
  oracle: LaneResult | null;
  /** One for each replicate, in order; empty if readings were not asked for. */
  readings: ReplicateReadings[];
}

/** What was read off the averages of one replicate at its end. */
interface ReplicateReadings {
  /** By lane, in order. */
  lanes: ResponseReading[];
  /** The truth, read by the same rules, without noise. */
  truth: ResponseReading;
}

export interface RaceProgress {
  replicate: number;
  /** 0 … 1 of the whole race. */
  fraction: number;
}

const CHECKPOINTS = 240; // 2 % apart in time over a two-minute session: finer than replicates can tell
const SWEEPS_PER_YIELD = 400;

/**
 * Races strategies on the same sweeps, over replicate patients.
 *
 * A generator, so that a terminal can show progress and a page can stop it; the return value is the result. Every
 * replicate sends identical sweeps to all lanes. Replicate r > 0 has the seed `seed/r`.
 *
 * @throws {RangeError} if replicates or target are out of range
 */
export function* race(scenario: Scenario, order: RaceOrder): Generator<RaceProgress, RaceResult> {
  const { seed, replicates, targetNv } = order;
  if (!(replicates >= 1 && replicates <= 10000 && Number.isInteger(replicates))) {
    throw new RangeError(`race: replicates must be a whole number from 1 to 10000, got ${replicates}`);
  }
  if (!(targetNv > 0 && targetNv < Infinity)) throw new RangeError(`race: targetNv must be > 0, got ${targetNv}`);
  const settings = order.lanes ?? racingLanesOf(scenario);
  const laneCount = settings.length + (order.oracle ? 1 : 0); // the oracle runs last
  const sweepCount = presentationCount(scenario);
  const checkpoints = checkpointSweeps(sweepCount);
  const table = Array.from({ length: laneCount }, () => [] as RaceReading[][]); // [lane][replicate][checkpoint]
  const context = averagingContext(scenario);
  const errors = Array.from({ length: laneCount }, () => gatherErrors(context.analysisTo - context.analysisFrom));

  const replicateReadings: ReplicateReadings[] = [];
  const keep = order.readings ? (read: ReplicateReadings) => void replicateReadings.push(read) : null;
  for (let r = 0; r < replicates; r++) {
    const replicateSeed = r === 0 ? seed : `${seed}/${r}`;
    for (const runs of table) runs.push([]);
    for (const readings of runLanes(scenario, replicateSeed, settings, order, checkpoints, errors, keep)) {
      if (typeof readings === 'number') yield { replicate: r, fraction: (r + readings / sweepCount) / replicates };
      else for (const [lane, reading] of readings.entries()) table[lane][r].push(reading);
    }
  }
  const postS = scenario.window.postMs / 1000;
  const secondsAt = (sweeps: number) => beatS(scenario, sweeps - 1) + postS;
  const oracleResult = order.oracle
    ? summarise(
        ORACLE_SETTING,
        'delayed',
        table[settings.length],
        errors[settings.length],
        checkpoints,
        secondsAt,
        targetNv,
      )
    : null;
  const noiseRuns = (lane: number): NoiseRuns => ({
    noiseNv: table[lane].map((run) => run.map((reading) => 1000 * reading.residualNoiseUv)),
    gains: table[lane].map((run) => run[run.length - 1].amplitudeGain),
  });
  const plainLane = settings.findIndex(({ strategy }) => strategy === plainMean.id);
  const lanes = settings.map((setting, lane) => {
    const { strategy, averager } = openLane(setting, context, undefined, order.outside);
    const { timing } = strategy;
    averager.release?.();
    const result = summarise(setting, timing, table[lane], errors[lane], checkpoints, secondsAt, targetNv);
    if (plainLane >= 0) {
      const seconds = checkpoints.map(secondsAt);
      result.efficiency = efficiency(noiseRuns(plainLane), noiseRuns(lane), seconds, targetNv);
    }
    if (oracleResult) result.regret = regret(curveOf(result), curveOf(oracleResult), targetNv);
    return result;
  });
  return { lanes, oracle: oracleResult, readings: replicateReadings };
}

const ORACLE_SETTING: LaneSetting = { strategy: 'oracle', parameters: {} };

function curveOf({ curve }: LaneResult): NoiseCurve {
  return { seconds: curve.map(({ seconds }) => seconds), noiseNv: curve.map(({ noiseNv }) => noiseNv) };
}

/** Runs one patient past all lanes; yields the readings at each checkpoint and, now and then, the sweeps done. */
function* runLanes(
  scenario: Scenario,
  seed: string,
  settings: LaneSetting[],
  order: RaceOrder,
  checkpoints: number[],
  errors: readonly ErrorGatherer[],
  keepReadings: ((readings: ReplicateReadings) => void) | null,
): Generator<RaceReading[] | number> {
  const context = averagingContext(scenario);
  const channel = scenario.averaging.channel === 'ipsilateral' ? 0 : 1;
  const session = startSession(scenario, seed, 1024, null, order.background?.(seed) ?? null);
  const field = laneField(settings, context, [], order.outside);
  const knowing = order.oracle ? oracle(context) : null;
  const readLane = laneReader(context);
  const verdictOf = verdictReader(context, scenario.measures.absentGapNv / 1000);
  const truth = chosenTruth(scenario, seed, channel);
  const truthUv = new Float64Array(context.samplesPerSweep);
  const errorUv = new Float64Array(context.samplesPerSweep);
  let next = 0;
  let done = 0;
  let rectifiedSumUv = 0;
  for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
    const meta = sweepMeta(sweep, channel, field);
    const recordedUv = sweep.recordedUv[channel];
    field.add(recordedUv, meta);
    knowing?.add(recordedUv, meta, meanSquareDifference(recordedUv, sweep.truthUv[channel]));
    truth.add(sweep.truthUv[channel], recordedUv);
    if (keepReadings) rectifiedSumUv += meanRectifiedUv(recordedUv, context.preSampleCount);
    done++;
    if (done === checkpoints[next]) {
      truth.read(truthUv);
      next++;
      const over = next === checkpoints.length;
      const read = (lane: { averager: Omit<Averager, 'add'> }) => ({
        ...readLane(lane, truthUv),
        verdict: over ? verdictOf(lane) : null,
      });
      const averagers: Omit<Averager, 'add'>[] = field.now().map(({ averager }) => averager);
      if (knowing) averagers.push(knowing);
      const readings = averagers.map((averager) => read({ averager }));
      if (over) {
        for (const [lane, averager] of averagers.entries()) {
          averager.read(errorUv);
          for (let i = 0; i < errorUv.length; i++) errorUv[i] -= truthUv[i];
          errors[lane].add(errorUv.subarray(context.analysisFrom, context.analysisTo));
        }
      }
      yield readings;
      if (over && keepReadings) {
        const rectifiedUv = rectifiedSumUv / done;
        keepReadings({
          lanes: field.now().map(({ averager }) => readAverage(scenario, context, averager, rectifiedUv).reading),
          truth: readResponse(scenario, truthUv, { ...context, rectifiedUv }, NO_NOISE),
        });
      }
    }
    if (done % SWEEPS_PER_YIELD === 0) yield done;
  }
  field.release();
}

function meanSquareDifference(one: Float64Array, two: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < one.length; i++) sum += (one[i] - two[i]) * (one[i] - two[i]);
  return sum / one.length;
}

/** Sweep counts at which the lanes are read: evenly spaced on a log scale, the last one the end of the session. */
export function checkpointSweeps(sweepCount: number): number[] {
  const first = Math.min(8, sweepCount);
  const counts = new Set<number>();
  for (let j = 0; j < CHECKPOINTS; j++) {
    counts.add(Math.round(first * exp((log(sweepCount / first) * j) / (CHECKPOINTS - 1))));
  }
  counts.add(sweepCount);
  return [...counts].filter((count) => count <= sweepCount).sort((a, b) => a - b);
}
