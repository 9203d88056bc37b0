import { parseArgs } from 'node:util';

/** A refusal that needs no stack: printed as one line, exit code 1. */
export class UsageError extends Error {}

/** What one option takes: a value, several values, or nothing. */
export type OptionKind = 'value' | 'values' | 'flag';

/** The parsed command line of one command. */
export interface ParsedArguments {
  positionals: string[];
  value(name: string): string | undefined;
  values(name: string): string[];
  flag(name: string): boolean;
}

/**
 * Parses the words after a command.
 *
 * Values may begin with a minus sign (`--window-ms -100,600`).
 *
 * @throws {UsageError} for an unknown option, or a missing value
 */
export function parseArguments(words: string[], options: Record<string, OptionKind>): ParsedArguments {
  const joined: string[] = [];
  for (let k = 0; k < words.length; k++) {
    const name = words[k].startsWith('--') ? words[k].slice(2) : '';
    const kind = Object.hasOwn(options, name) ? options[name] : undefined;
    if ((kind === 'value' || kind === 'values') && k + 1 < words.length && !words[k + 1].startsWith('--')) {
      joined.push(`${words[k]}=${words[++k]}`);
    } else joined.push(words[k] === '-h' ? '--help' : words[k]);
  }
  let parsed: { values: Record<string, unknown>; positionals: string[] };
  try {
    parsed = parseArgs({
      args: joined,
      allowPositionals: true,
      options: Object.fromEntries(
        Object.entries(options).map(([name, kind]) => [
          name,
          { type: kind === 'flag' ? ('boolean' as const) : ('string' as const), multiple: kind !== 'flag' },
        ]),
      ),
    });
  } catch (error) {
    throw new UsageError((error as Error).message.split('\n')[0].split('. To specify')[0]);
  }
  for (const [name, kind] of Object.entries(options)) {
    const given = (parsed.values[name] as string[] | undefined) ?? [];
    if (kind === 'value' && given.length > 1) {
      throw new UsageError(`--${name}: must be given once, got ${given.join(' and ')}`);
    }
  }
  return {
    positionals: parsed.positionals,
    value: (name) => (parsed.values[name] as string[] | undefined)?.[0],
    values: (name) => (parsed.values[name] as string[] | undefined) ?? [],
    flag: (name) => parsed.values[name] === true,
  };
}

/** Reads a number option. @throws {UsageError} naming option, rule and value */
export function numberOption(name: string, text: string | undefined, minimum: number, maximum: number, whole = false) {
  if (text === undefined) return undefined;
  const value = Number(text);
  const fits = text.trim() !== '' && value >= minimum && value <= maximum && (!whole || Number.isInteger(value));
  const rule = `must be a ${whole ? 'whole ' : ''}number from ${minimum} to ${maximum}`;
  if (!fits) throw new UsageError(`--${name}: ${rule}, got "${text}"`);
  return value;
}

/** Reads a pair such as `-100,600`. @throws {UsageError} naming option, rule and value */
export function pairOption(name: string, text: string | undefined): [number, number] | undefined {
  if (text === undefined) return undefined;
  const parts = text.split(',').map((part) => (part.trim() === '' ? NaN : Number(part)));
  if (!(parts.length === 2 && Number.isFinite(parts[0]) && Number.isFinite(parts[1]) && parts[0] < parts[1])) {
    throw new UsageError(`--${name}: must be two rising numbers a,b, got "${text}"`);
  }
  return [parts[0], parts[1]];
}

/** The one value of an option that may be given once. @throws {UsageError} if it was given more often */
export function singleOption(parsed: ParsedArguments, name: string): string | undefined {
  const values = parsed.values(name);
  if (values.length > 1) throw new UsageError(`--${name}: must be given once, got ${values.length} times`);
  return values[0];
}
