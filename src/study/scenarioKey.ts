import type { TSchema } from '@sinclair/typebox';
import { scenarioSchema } from '../core/scenario/schema.ts';

/** The schema entry of a scenario's key such as `muscle.burstsPerS`, or undefined if there is no such key. */
export function scenarioKey(path: string): TSchema | undefined {
  let schema: TSchema | undefined = scenarioSchema;
  for (const key of path.split('.')) {
    schema = Object.hasOwn(schema?.properties ?? {}, key) ? schema?.properties[key] : undefined;
  }
  return schema;
}
