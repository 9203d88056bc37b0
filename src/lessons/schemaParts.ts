import { type TSchema, Type } from '@sinclair/typebox';

/** An object that takes no other key than these. */
export function group<T extends Record<string, TSchema>>(description: string, properties: T) {
  return Type.Object(properties, { description, additionalProperties: false });
}

export const name = Type.String({
  pattern: '^[a-z0-9]+(-[a-z0-9]+)*$',
  maxLength: 60,
  description: 'a short name: a-z, 0-9 and single -',
});
export const sentence = Type.String({ minLength: 1, maxLength: 600, description: 'a sentence' });
export const sentences = Type.Array(sentence, { minItems: 1, maxItems: 12 });
export const positive = Type.Number({ exclusiveMinimum: 0, maximum: 1e6 });
export const points = Type.Integer({ minimum: 1, maximum: 40 });

/** `plain-mean`, `threshold-rejection@8` for a lane added by vary, `setting:chosen` for the lane of a setting. */
export const lane = Type.String({
  pattern: '^[a-z]+(-[a-z0-9]+)*(@[0-9.e-]+)?$|^setting:[a-z0-9]+(-[a-z0-9]+)*$',
  maxLength: 60,
  description: 'a strategy, strategy@value for a lane added by vary, or setting:id for the lane that a setting names',
});
