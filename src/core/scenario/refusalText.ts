import type { TSchema } from '@sinclair/typebox';
import type { ValueError } from '@sinclair/typebox/value';
import { scenarioSchema } from './schema.ts';

/** Says in one line what is wrong with a value: path, rule made from its schema, and what was given. */
export function refusalText(error: ValueError): string {
  // The path is a JSON pointer (RFC 6901): ~1 stands for / and ~0 for ~.
  const keys = error.path
    .split('/')
    .slice(1)
    .map((key) => key.replaceAll('~1', '/').replaceAll('~0', '~'));
  const path = keys.join('.') || 'scenario';
  const { schema, value } = error;
  if (error.message.startsWith('Unexpected property')) {
    return `${path}: unknown key; known here: ${knownKeys(keys).join(', ') || 'none'}`;
  }
  const choices =
    schema.anyOf?.map((entry: TSchema) => entry.const) ?? (schema.const === undefined ? null : [schema.const]);
  if (choices) return `${path}: must be ${choices.join(' or ')}, got ${shown(value)}`;
  if (schema.type === 'number' || schema.type === 'integer') {
    const kind = schema.type === 'integer' ? 'a whole number' : 'a number';
    const unit = schema.unit ? ` ${schema.unit}` : '';
    return `${path}: must be ${kind} from ${schema.minimum} to ${schema.maximum}${unit}, got ${shown(value)}`;
  }
  if (schema.type === 'string' && schema.pattern) {
    return `${path}: must be text of ${schema.description}, got ${shown(value)}`;
  }
  if (schema.type === 'array') {
    return `${path}: must be a list of ${schema.minItems ?? 0} to ${schema.maxItems} ${schema.items.type === 'number' ? 'numbers' : 'entries'}, got ${shown(value)}`;
  }
  const kinds: Record<string, string> = { object: 'a group of keys', boolean: 'true or false', string: 'text' };
  return `${path}: must be ${kinds[schema.type] ?? schema.type}, got ${shown(value)}`;
}

function knownKeys(keys: readonly string[]): string[] {
  let schema: TSchema = scenarioSchema;
  for (const key of keys.slice(0, -1)) schema = schema.items ?? schema.properties[key];
  return Object.keys(schema.properties);
}

/** A value as a refusal shows it, at most 60 characters. */
export function shown(value: unknown): string {
  if (value === undefined) return 'nothing';
  if (typeof value === 'number') return String(value); // NaN and Infinity are not JSON
  const text = JSON.stringify(value);
  return text.length > 60 ? `${text.slice(0, 57)}…` : text;
}
