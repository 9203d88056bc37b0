import type { Scenario } from '../scenario/schema.ts';
import { responseKind } from './index.ts';
import type { EvokedResponse } from './responseKind.ts';

/** Makes the response that a scenario asks for. @throws {RangeError} for a kind that the registry does not know */
export function evokedResponse(scenario: Scenario, seed: string): EvokedResponse {
  return responseKind(scenario.response.kind).create(scenario, seed);
}
