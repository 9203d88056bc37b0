import { averagingStrategy } from '../../core/averaging/index.ts';
import type { Scenario } from '../../core/scenario/schema.ts';
import { STANDARD_LANES } from '../../core/session/lanes.ts';

/** Lanes that fit the screen and can be told apart. */
export const MAX_LANES = 6;

/** A lane as a scenario names it; tunables that it does not give are those of the scenario. */
export type LaneChoice = Scenario['lanes'][number];

/** A lane that follows the tunables of the scenario. */
function followingLane(strategy: string): LaneChoice {
  return { strategy, name: '', flagAware: false, parameters: {} };
}

/** The lanes that race in a scenario, the standard ones spelled out. */
export function lanesChosen({ lanes }: Scenario): readonly LaneChoice[] {
  return lanes.length > 0 ? lanes : STANDARD_LANES.map(followingLane);
}

/** The tunables that a scenario gives a strategy. @throws {RangeError} for an unknown strategy */
export function scenarioTunables(scenario: Scenario, strategy: string): Record<string, number> {
  const sections = scenario.averaging as unknown as Record<string, Record<string, number>>;
  return { ...sections[averagingStrategy(strategy).scenarioKey] };
}

/** A lane of a strategy beside others: with tunables of its own if one of them races already, so that the two can differ. */
export function laneBeside(scenario: Scenario, others: readonly LaneChoice[], strategy: string): LaneChoice {
  const twice = others.some((lane) => lane.strategy === strategy);
  return { ...followingLane(strategy), parameters: twice ? scenarioTunables(scenario, strategy) : {} };
}
