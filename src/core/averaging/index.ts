import { adaptiveRejection } from './adaptiveRejection.ts';
import { bandWeighting } from './bandWeighting.ts';
import { behaviourGated } from './behaviourGated.ts';
import { blockWeighting } from './blockWeighting.ts';
import { finiteOnly } from './finiteOnly.ts';
import { forgettingAverage } from './forgettingAverage.ts';
import { huberAverage } from './huberAverage.ts';
import { kalman } from './kalman.ts';
import { medianAverage } from './medianAverage.ts';
import { muscleNormalised } from './muscleNormalised.ts';
import { pairBalanced } from './pairBalanced.ts';
import { plainMean } from './plainMean.ts';
import { prestimulusWeighting } from './prestimulusWeighting.ts';
import { ruleSet } from './ruleSet.ts';
import { selfWeighting } from './selfWeighting.ts';
import { sortedAveraging } from './sortedAveraging.ts';
import { stateSpace } from './stateSpace.ts';
import type { AveragingStrategy } from './strategy.ts';
import { templateWeighting } from './templateWeighting.ts';
import { thresholdRejection } from './thresholdRejection.ts';
import { trimmedMean } from './trimmedMean.ts';

// biome-ignore lint/suspicious/noExplicitAny: each strategy has its own parameters, checked against its own schema
const strategies: readonly AveragingStrategy<any>[] = [
  plainMean,
  thresholdRejection,
  blockWeighting,
  kalman,
  adaptiveRejection,
  selfWeighting,
  templateWeighting,
  prestimulusWeighting,
  sortedAveraging,
  medianAverage,
  trimmedMean,
  huberAverage,
  muscleNormalised,
  pairBalanced,
  behaviourGated,
  forgettingAverage,
  bandWeighting,
  stateSpace,
  ruleSet,
];

/** Every averaging strategy, in the order in which they are shown; what is no voltage reaches none of them. */
export const averagingStrategies = strategies.map((strategy) => finiteOnly(strategy));

/**
 * Finds a strategy by its id.
 * @throws {RangeError} naming the choices, if there is none of that id
 */
export function averagingStrategy(id: string): AveragingStrategy {
  const found = averagingStrategies.find((strategy) => strategy.id === id);
  if (found) return found;
  const choices = averagingStrategies.map((strategy) => strategy.id).join(', ');
  throw new RangeError(`unknown averaging strategy "${id}"; one of ${choices}`);
}
