import { type Verdict, visualReading } from '../../core/quality/visualRule.ts';
import { type LatencyIntensity, type LevelLatency, latencyIntensity } from '../../core/reading/latencyIntensity.ts';
import { noiseShape } from '../../core/reading/noiseShape.ts';
import type { ReadPeak } from '../../core/reading/readPeaks.ts';
import { readResponse } from '../../core/reading/readResponse.ts';
import { type BracketedThreshold, bracketThreshold } from '../../core/reading/threshold.ts';
import { resolveScenario, withOverrides } from '../../core/scenario/resolve.ts';
import type { Scenario } from '../../core/scenario/schema.ts';
import { averagingContext } from '../../core/session/session.ts';
import type { FullRun } from '../worker/fullRun.ts';

/** One session at one level, as one lane averaged it. */
export interface SeriesRun {
  levelDb: number;
  seed: string;
  lane: number;
  sweepCount: number;
  seconds: number;
  averageUv: Float32Array;
  bufferAUv: Float32Array;
  bufferBUv: Float32Array;
  ownNoiseUv: number;
  peaks: ReadPeak[];
  /** What the 3:1 rule says. */
  ruleVerdict: Verdict;
  /** What the person says; null until something is said. */
  ownVerdict: Verdict | null;
}

const FALL_MS = 6; // longest way from peak to trough that counts as one deflection, ms: that of a slow wave V

/** The scenario at another level. @throws {ScenarioError} for a level that cannot be */
export function scenarioAtLevel(scenario: Scenario, levelDb: number): Scenario {
  return resolveScenario(withOverrides(scenario, [`stimulus.levelDbNhl=${levelDb}`]));
}

/** Seed of one more run at a level: another recording of the same person, not the same noise again. */
export function seriesSeed(seed: string, runs: readonly SeriesRun[], levelDb: number): string {
  const earlier = runs.filter((run) => run.levelDb === levelDb).length;
  return `${seed}/level ${levelDb}/${earlier + 1}`;
}

/** Makes an entry of the series from a finished session. */
export function seriesRun(scenario: Scenario, run: FullRun, levelDb: number, seed: string, lane: number): SeriesRun {
  const context = averagingContext(scenario);
  const { averageUv, bufferAUv, bufferBUv, reading } = run.lanes[lane];
  const [average, a, b] = [averageUv, bufferAUv, bufferBUv].map((samples) => Float64Array.from(samples));
  const { analysisFrom, analysisTo, sampleRateHz } = context;
  const halfDifferenceUv = a.map((value, i) => (value - b[i]) / 2);
  const known = Number.isFinite(halfDifferenceUv[analysisFrom]);
  const peaks = known
    ? readResponse(
        scenario,
        average,
        { ...context, rectifiedUv: NaN },
        noiseShape(halfDifferenceUv, analysisFrom, analysisTo, sampleRateHz, reading.ownNoiseUv),
      ).peaks
    : [];
  const reach = Math.round((FALL_MS * sampleRateHz) / 1000);
  return {
    levelDb,
    seed,
    lane,
    sweepCount: run.sweepCount,
    seconds: run.seconds,
    averageUv,
    bufferAUv,
    bufferBUv,
    ownNoiseUv: reading.ownNoiseUv,
    peaks,
    ruleVerdict: known
      ? visualReading(average, a, b, analysisFrom, analysisTo, reach, scenario.measures.absentGapNv / 1000).verdict
      : 'cannot-tell',
    ownVerdict: null,
  };
}

/** Wave V at the levels where it is clear of the noise. */
export function waveLatencies(runs: readonly SeriesRun[]): LevelLatency[] {
  return runs.flatMap(({ levelDb, peaks }) => {
    const found = peaks.find(({ name, clear }) => name === 'V' && clear);
    return found && found.latencySdMs > 0
      ? [{ levelDbNhl: levelDb, latencyMs: found.latencyMs, latencySdMs: found.latencySdMs }]
      : [];
  });
}

/** The latency–intensity function through the clear waves; null with fewer than two levels. */
export function fitOf(runs: readonly SeriesRun[]): LatencyIntensity | null {
  const latencies = waveLatencies(runs);
  return new Set(latencies.map(({ levelDbNhl }) => levelDbNhl)).size >= 2 ? latencyIntensity(latencies) : null;
}

/** The threshold between what the person has called present and absent. */
export function thresholdOf(runs: readonly SeriesRun[]): BracketedThreshold {
  return bracketThreshold(
    runs.flatMap(({ levelDb, ownVerdict }) => (ownVerdict ? [{ levelDb, verdict: ownVerdict }] : [])),
  );
}
