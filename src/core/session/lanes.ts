import { checkedParameters } from '../averaging/checkedParameters.ts';
import { finiteOnly } from '../averaging/finiteOnly.ts';
import { flagAware } from '../averaging/flagAware.ts';
import { averagingStrategy } from '../averaging/index.ts';
import type { Averager, AveragingContext, AveragingStrategy, VerdictListener } from '../averaging/strategy.ts';
import { amplitudeGain } from '../quality/amplitudeGain.ts';
import { fmp } from '../quality/fmp.ts';
import { residualNoiseUv } from '../quality/residualNoise.ts';
import { splitCorrelation } from '../quality/splitCorrelation.ts';
import { fallReach, type Verdict, visualReading } from '../quality/visualRule.ts';
import type { Scenario } from '../scenario/schema.ts';

/** A strategy with its settings: one competitor. */
export interface LaneSetting {
  strategy: string;
  parameters: Record<string, number>;
  /** What to call it; by default the label of the strategy. */
  name?: string;
  /** Flagged sweeps never reach it. */
  flagAware?: boolean;
}

/** A competitor during a run. */
export interface Lane {
  strategy: AveragingStrategy;
  averager: Averager;
}

/** What a lane has to show at one moment, µV where a unit applies; NaN for what cannot be told yet. */
export interface LaneReading {
  residualNoiseUv: number;
  ownNoiseUv: number;
  amplitudeGain: number;
  splitCorrelation: number;
  /** Size of the average against its own noise claim; above `FMP_PRESENT` a response is called present. */
  fmp: number;
  usedCount: number;
  effectiveCount: number;
}

/** The four that race unless a scenario names its own lanes. */
export const STANDARD_LANES: readonly string[] = ['plain-mean', 'threshold-rejection', 'block-weighting', 'kalman'];

/** The standard lanes of a scenario, with the tunables that the scenario gives them. */
export function lanesOf(scenario: Scenario): LaneSetting[] {
  return STANDARD_LANES.map((id) => laneOf(scenario, id));
}

/**
 * The lanes that race: those that the scenario names, or the standard four.
 *
 * @throws {RangeError} for an unknown tunable, or a value out of bounds: place, rule and value
 */
export function racingLanesOf(scenario: Scenario): LaneSetting[] {
  if (scenario.lanes.length === 0) return lanesOf(scenario);
  return scenario.lanes.map(({ strategy, name, flagAware, parameters }, k) => ({
    ...laneOf(scenario, strategy, parameters, `lanes.${k}.parameters`),
    ...(name === '' ? {} : { name }),
    ...(flagAware ? { flagAware } : {}),
  }));
}

/**
 * A lane of one strategy: the tunables given, the rest as the scenario sets them.
 *
 * @throws {RangeError} for an unknown strategy or tunable, or a value out of bounds
 */
export function laneOf(
  scenario: Scenario,
  strategy: string,
  given: Record<string, unknown> = {},
  place = `lane ${strategy}`,
): LaneSetting {
  const found = averagingStrategy(strategy);
  const tunables = scenario.averaging as unknown as Record<string, Record<string, number>>;
  return { strategy, parameters: checkedParameters(found, given, place, tunables[found.scenarioKey]) };
}

/** The name by which a lane goes. */
export function laneName({ strategy, name }: LaneSetting, outside: readonly AveragingStrategy[] = []): string {
  return name ?? (outside.find(({ id }) => id === strategy) ?? averagingStrategy(strategy)).label;
}

/**
 * Opens a lane.
 *
 * @param outside - strategies that are not the lab's own, found by id before those
 * @throws {RangeError} for an unknown strategy or an impossible tunable
 */
export function openLane(
  setting: LaneSetting,
  context: AveragingContext,
  listener: VerdictListener = () => {},
  outside: readonly AveragingStrategy[] = [],
): Lane {
  const foreign = outside.find(({ id }) => id === setting.strategy);
  const found = foreign ? finiteOnly(foreign) : averagingStrategy(setting.strategy); // the lab's own are so already
  const strategy = setting.flagAware ? flagAware(found) : found;
  return { strategy, averager: strategy.create(context, setting.parameters, listener) };
}

/** Makes a reader of lanes that reuses its buffers. Pass null for the truth where it is not known. */
export function laneReader(
  context: AveragingContext,
): (lane: { averager: Omit<Averager, 'add'> }, truthUv: Float64Array | null) => LaneReading {
  const estimateUv = new Float64Array(context.samplesPerSweep);
  const bufferAUv = new Float64Array(context.samplesPerSweep);
  const bufferBUv = new Float64Array(context.samplesPerSweep);
  const { analysisFrom: from, analysisTo: to } = context;
  return ({ averager }, truthUv) => {
    averager.read(estimateUv);
    averager.readPair(bufferAUv, bufferBUv);
    const ownNoiseUv = averager.ownNoiseUv();
    return {
      residualNoiseUv: truthUv ? residualNoiseUv(estimateUv, truthUv, from, to) : NaN,
      ownNoiseUv,
      amplitudeGain: truthUv ? amplitudeGain(estimateUv, truthUv, from, to) : NaN,
      splitCorrelation: splitCorrelation(bufferAUv, bufferBUv, from, to),
      fmp: fmp(estimateUv, ownNoiseUv, from, to),
      usedCount: averager.usedCount(),
      effectiveCount: averager.effectiveCount(),
    };
  };
}

/**
 * Makes a reader of the 3:1 verdict of lanes: the largest fall within the analysis window against the gap of the pair.
 *
 * A fall may be a third of the window long. On pure noise of the ABR band the rule says present in 17 of 100 averages,
 * because the fall may lie anywhere: one look at a ruler, not a test.
 */
export function verdictReader(
  context: AveragingContext,
  absentGapUv: number,
): (lane: { averager: Omit<Averager, 'add'> }) => Verdict {
  const averageUv = new Float64Array(context.samplesPerSweep);
  const bufferAUv = new Float64Array(context.samplesPerSweep);
  const bufferBUv = new Float64Array(context.samplesPerSweep);
  const { analysisFrom: from, analysisTo: to } = context;
  const reach = fallReach(from, to);
  return ({ averager }) => {
    averager.read(averageUv);
    averager.readPair(bufferAUv, bufferBUv);
    return visualReading(averageUv, bufferAUv, bufferBUv, from, to, reach, absentGapUv).verdict;
  };
}
