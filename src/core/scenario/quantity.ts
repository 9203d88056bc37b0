import { type TUnsafe, Type } from '@sinclair/typebox';

/** A number with its unit, default, bounds and one line of help: one entry of a scenario or of a strategy. */
export function quantity(unit: string, defaultValue: number, minimum: number, maximum: number, description: string) {
  return Type.Number({ unit, default: defaultValue, minimum, maximum, description });
}

/** The same for counts. */
export function wholeNumber(unit: string, defaultValue: number, minimum: number, maximum: number, description: string) {
  return Type.Integer({ unit, default: defaultValue, minimum, maximum, description });
}

/** A group of keys; a key that is not listed is refused. */
export function section<T extends Parameters<typeof Type.Object>[0]>(description: string, properties: T) {
  return Type.Object(properties, { description, additionalProperties: false });
}

/** One of a few words. */
export function choice<T extends string[]>(defaultValue: T[number], values: [...T], description: string) {
  return Type.Union(
    values.map((value) => Type.Literal(value)),
    { default: defaultValue, description },
  ) as unknown as TUnsafe<T[number]>;
}
