import { checkedParameters } from '../averaging/checkedParameters.ts';
import { averagingStrategy } from '../averaging/index.ts';
import type { Scenario } from './schema.ts';

/** Refuses lanes with tunables that their strategy does not have or cannot take. @throws {RangeError} lane, rule, value */
export function checkLanes({ lanes }: Scenario): void {
  for (const [k, { strategy, parameters }] of lanes.entries()) {
    checkedParameters(averagingStrategy(strategy), parameters, `lanes.${k}.parameters`);
  }
}
