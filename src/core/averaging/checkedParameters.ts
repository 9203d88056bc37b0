import type { TSchema } from '@sinclair/typebox';
import type { AveragingStrategy } from './strategy.ts';

/**
 * Completes the tunables of a strategy and checks each against its schema.
 *
 * @param given - some of them   @param below - what holds where nothing is given; else the default of the schema
 * @param place - named in front of every refusal
 * @throws {RangeError} for an unknown tunable, or a value that is no number or out of bounds: place, rule and value
 * @example checkedParameters(blockWeighting, { blockLength: 16 }, 'lane').varianceFloorUv2 // 0
 */
export function checkedParameters(
  { id, parameters }: Pick<AveragingStrategy, 'id' | 'parameters'>,
  given: Record<string, unknown>,
  place: string,
  below: Record<string, number> = {},
): Record<string, number> {
  const entries = Object.entries(parameters.properties as Record<string, TSchema>);
  const unknown = Object.keys(given).find((key) => !entries.some(([known]) => known === key));
  if (unknown !== undefined) {
    const known = entries.map(([key]) => key).join(', ') || 'none';
    throw new RangeError(`${place}: unknown tunable of ${id}; known here: ${known}, got ${unknown}`);
  }
  const complete = entries.map(([key, schema]) => {
    const value = Object.hasOwn(given, key) ? given[key] : (below[key] ?? schema.default);
    const whole = schema.type === 'integer';
    const fits = typeof value === 'number' && value >= schema.minimum && value <= schema.maximum;
    if (!fits || (whole && !Number.isInteger(value))) {
      const kind = whole ? 'a whole number' : 'a number';
      const unit = schema.unit ? ` ${schema.unit}` : '';
      const rule = `must be ${kind} from ${schema.minimum} to ${schema.maximum}${unit}`;
      throw new RangeError(`${place}.${key}: ${rule}, got ${String(value)}`);
    }
    return [key, value] as const;
  });
  return Object.fromEntries(complete);
}
