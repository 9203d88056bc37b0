import { Type } from '@sinclair/typebox';

/** A number with its unit, default, bounds and one line of help: one entry of a scenario or of a strategy. */
export function quantity(unit: string, defaultValue: number, minimum: number, maximum: number, description: string) {
  return Type.Number({ unit, default: defaultValue, minimum, maximum, description });
}

/** The same for counts. */
export function wholeNumber(unit: string, defaultValue: number, minimum: number, maximum: number, description: string) {
  return Type.Integer({ unit, default: defaultValue, minimum, maximum, description });
}
