import { blockWeighting } from './blockWeighting.ts';
import { kalman } from './kalman.ts';
import { plainMean } from './plainMean.ts';
import type { AveragingStrategy } from './strategy.ts';
import { thresholdRejection } from './thresholdRejection.ts';

/** Every averaging strategy, in the order in which they are shown. */
// biome-ignore lint/suspicious/noExplicitAny: each strategy has its own parameters, checked against its own schema
export const averagingStrategies: readonly AveragingStrategy<any>[] = [
  plainMean,
  thresholdRejection,
  blockWeighting,
  kalman,
];

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
