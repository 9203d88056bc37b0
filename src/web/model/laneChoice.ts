import { averagingStrategies, averagingStrategy } from '../../core/averaging/index.ts';
import { ScenarioError } from '../../core/scenario/resolve.ts';
import type { Scenario } from '../../core/scenario/schema.ts';
import { type LaneSetting, lanesOf } from '../../core/session/lanes.ts';

/** Lanes that fit the screen and can be told apart. */
export const MAX_LANES = 6;

/** A lane as chosen on the bench. */
export interface LaneChoice {
  strategy: string;
  /** Its own tunables, or null where it follows those of the scenario. */
  parameters: Record<string, number> | null;
}

/** The lanes with which a scenario begins, all following its tunables. */
export function standardLanes(scenario: Scenario): LaneChoice[] {
  return lanesOf(scenario).map(({ strategy }) => ({ strategy, parameters: null }));
}

/** The tunables that a scenario gives a strategy. @throws {RangeError} for an unknown strategy */
export function scenarioTunables(scenario: Scenario, strategy: string): Record<string, number> {
  const sections = scenario.averaging as unknown as Record<string, Record<string, number>>;
  return { ...sections[averagingStrategy(strategy).scenarioKey] };
}

/** What the engine needs to know of the lanes. */
export function laneSettings(choices: readonly LaneChoice[], scenario: Scenario): LaneSetting[] {
  return choices.map(({ strategy, parameters }) => ({
    strategy,
    parameters: { ...scenarioTunables(scenario, strategy), ...parameters },
  }));
}

/**
 * Writes a lane for a link.
 *
 * @example laneText({ strategy: 'block-weighting', parameters: { blockLength: 16 } }) // 'block-weighting,blockLength=16'
 */
export function laneText({ strategy, parameters }: LaneChoice): string {
  return [strategy, ...Object.entries(parameters ?? {}).map(([key, value]) => `${key}=${value}`)].join(',');
}

/** Reads what `laneText` wrote. @throws {ScenarioError} for an unknown strategy or tunable, or a value out of bounds */
export function readLaneText(text: string): LaneChoice {
  const [strategy, ...assignments] = text.split(',');
  const known = averagingStrategies.find(({ id }) => id === strategy);
  if (!known) {
    const choices = averagingStrategies.map(({ id }) => id).join(', ');
    throw new ScenarioError(`lane: must begin with one of ${choices}, got "${strategy}"`);
  }
  if (assignments.length === 0) return { strategy, parameters: null };
  const parameters: Record<string, number> = {};
  for (const assignment of assignments) {
    const [key, given] = assignment.split('=');
    const schema = known.parameters.properties[key];
    if (!schema) {
      const choices = Object.keys(known.parameters.properties).join(', ');
      throw new ScenarioError(`lane ${strategy}: tunable must be one of ${choices || 'none'}, got "${key}"`);
    }
    const value = given === undefined || given === '' ? NaN : Number(given);
    if (!(value >= schema.minimum && value <= schema.maximum)) {
      const rule = `must be a number from ${schema.minimum} to ${schema.maximum} ${schema.unit}`.trimEnd();
      throw new ScenarioError(`lane ${strategy}: ${key} ${rule}, got "${given ?? ''}"`);
    }
    parameters[key] = value;
  }
  return { strategy, parameters };
}
