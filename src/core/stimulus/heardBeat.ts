import type { Scenario } from '../scenario/schema.ts';

/**
 * The beat of a modulated tone as it is presented: a whole number of cycles in each sweep interval, at least one.
 *
 *     beat = max(1, round(modulationHz / ratePerS)) · ratePerS
 *
 * @returns Hz   @example heardBeatHz(resolveScenario({ response: { kind: 'steady-state' } })) // 40.42
 */
export function heardBeatHz({ stimulus }: Pick<Scenario, 'stimulus'>): number {
  return Math.max(1, Math.round(stimulus.modulationHz / stimulus.ratePerS)) * stimulus.ratePerS;
}
