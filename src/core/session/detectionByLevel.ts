import type { AveragingStrategy } from '../averaging/strategy.ts';
import { type DetectionMatrix, detectionMatrix, type JudgedRun } from '../quality/detectionMatrix.ts';
import { type LatencyIntensity, type LevelLatency, latencyIntensity } from '../reading/latencyIntensity.ts';
import { type LatencyPattern, type PatternEvidence, patternProbabilities } from '../reading/patternClass.ts';
import {
  type BracketedThreshold,
  bracketThreshold,
  type LogisticThreshold,
  logisticThreshold,
} from '../reading/threshold.ts';
import { noiseIds } from '../scenario/noiseIds.ts';
import { resolveScenario, withOverrides } from '../scenario/resolve.ts';
import type { Scenario } from '../scenario/schema.ts';
import { type LaneSetting, racingLanesOf } from './lanes.ts';
import { race } from './race.ts';
import { averagingContext, startSession } from './session.ts';

/** The verdicts of the 3:1 rule on one lane, at levels about the true threshold. */
interface LaneVerdicts extends LaneSetting {
  matrix: DetectionMatrix;
  /** By the majority of verdicts at each level, and by a logistic curve through the shares called present, dB nHL. */
  bracket: BracketedThreshold;
  logistic: LogisticThreshold;
  /** Of the seed's own run, click only: wave V over level, and how likely each pattern is; null for fewer than 2 clear waves. */
  latency: { fit: LatencyIntensity; patterns: Record<LatencyPattern, number> } | null;
}

/** All lanes, with the threshold that the levels are counted from. */
export interface DetectionByLevel {
  /** Lowest whole level at which the noise-free response is there at all, dB nHL. */
  thresholdDbNhl: number;
  lanes: LaneVerdicts[];
}

/** What to run. */
export interface DetectionOrder {
  seed: string;
  replicates: number;
  lanes?: LaneSetting[];
  outside?: readonly AveragingStrategy[];
}

const OFFSETS_DB = [-10, 0, 10, 20, 30, 40, 60, 80] as const; // about the threshold, our choice
const LOWEST_DB = -10; // as the schema has it
const HIGHEST_DB = 100;
const HEARD_UV = 1e-4; // µV rms: a tenth of a nanovolt is the tail of a filter, not a response

/**
 * Races replicate patients at levels below and above their true threshold and counts what the 3:1 rule says of each lane.
 *
 * Present below the threshold is false, and so is absent from it on; cannot tell is neither. Each level is a race of its own
 * with the same noise. Levels beyond what can be set are left out.
 *
 * @param document - the patient; its level does not matter
 * @throws {RangeError} if there is no response at any level
 */
export function* detectionByLevel(
  document: object,
  { seed, replicates, lanes, outside }: DetectionOrder,
): Generator<number, DetectionByLevel> {
  const atLevel = (levelDb: number) => resolveScenario(withOverrides(document, [`stimulus.levelDbNhl=${levelDb}`]));
  const thresholdDbNhl = trueThresholdDb(atLevel, seed);
  const levels = OFFSETS_DB.map((offset) => thresholdDbNhl + offset).filter(
    (level) => level >= LOWEST_DB && level <= HIGHEST_DB,
  );
  const settings = lanes ?? racingLanesOf(resolveScenario(document));
  const judged = settings.map(() => [] as JudgedRun[]);
  const waves = settings.map(() => ({
    waveV: [] as LevelLatency[],
    intervalMs: undefined as PatternEvidence['intervalMs'],
  }));
  for (const [j, levelDb] of levels.entries()) {
    const scenario = atLevel(levelDb);
    const { targetNv } = scenario.session;
    const readings = scenario.response.kind === 'click-abr';
    const steps = race(scenario, { seed, replicates, targetNv, lanes: settings, outside, readings });
    let step = steps.next();
    for (; !step.done; step = steps.next()) yield (j + step.value.fraction) / levels.length;
    for (const [k, { runs }] of step.value.lanes.entries()) {
      for (const { verdict } of runs) judged[k].push({ aboveThresholdDb: levelDb - thresholdDbNhl, verdict });
    }
    for (const [k, { peaks, figures }] of (step.value.readings[0]?.lanes ?? []).entries()) {
      const wave = peaks.find(({ name, clear }) => name === 'V' && clear);
      if (!(wave && wave.latencySdMs > 0)) continue;
      const { latencyMs, latencySdMs } = wave;
      waves[k].waveV.push({ levelDbNhl: levelDb, latencyMs, latencySdMs });
      const interval = figures.find(({ name, meaningful, sd }) => name === 'I–V' && meaningful && sd > 0);
      if (interval) waves[k].intervalMs = { value: interval.value, sd: interval.sd }; // that of the loudest level stays
    }
  }
  const { ratePerS } = atLevel(levels[0]).stimulus;
  return {
    thresholdDbNhl,
    lanes: settings.map((setting, k) => {
      const matrix = detectionMatrix(judged[k]);
      const { waveV, intervalMs } = waves[k];
      const evidence = { ratePerS, waveV, ...(intervalMs ? { intervalMs } : {}) };
      return {
        ...setting,
        matrix,
        bracket: bracketThreshold(
          judged[k].map(({ aboveThresholdDb, verdict }) => ({ levelDb: thresholdDbNhl + aboveThresholdDb, verdict })),
        ),
        logistic: logisticThreshold(
          matrix.rows.map(({ aboveThresholdDb, runCount, presentCount }) => ({
            ...{ levelDb: thresholdDbNhl + aboveThresholdDb, runCount, detectedCount: presentCount },
          })),
        ),
        latency: waveV.length < 2 ? null : { fit: latencyIntensity(waveV), patterns: patternProbabilities(evidence) },
      };
    }),
  };
}

/** The lowest whole level at which the noise-free response is not silent, by bisection: it only grows with the level. */
function trueThresholdDb(atLevel: (levelDb: number) => Scenario, seed: string): number {
  if (!isHeard(atLevel(HIGHEST_DB), seed)) {
    throw new RangeError(`detectionByLevel: the patient must respond at ${HIGHEST_DB} dB nHL, got silence`);
  }
  let low = LOWEST_DB - 1; // taken as not heard
  let high = HIGHEST_DB;
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2);
    if (isHeard(atLevel(middle), seed)) high = middle;
    else low = middle;
  }
  return high;
}

/** Whether the third sweep's noise-free response is there: by then what comes before a sweep has come. */
function isHeard(scenario: Scenario, seed: string): boolean {
  const { analysisFrom, analysisTo } = averagingContext(scenario);
  const channel = scenario.averaging.channel === 'ipsilateral' ? 0 : 1;
  const session = startSession({ ...scenario, session: { ...scenario.session, mute: [...noiseIds] } }, seed);
  let squares = 0;
  for (let k = 0; k < 3; k++) {
    const sweep = session.nextSweep();
    if (!sweep) break;
    squares = 0;
    const truthUv = sweep.truthUv[channel];
    for (let i = analysisFrom; i < analysisTo; i++) squares += truthUv[i] * truthUv[i];
  }
  return squares > (analysisTo - analysisFrom) * HEARD_UV * HEARD_UV;
}
