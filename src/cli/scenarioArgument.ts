import { readFileSync } from 'node:fs';
import { preset, presets } from '../core/scenario/presets.ts';
import { readScenarioText } from '../formats/scenarioText.ts';
import { UsageError } from './arguments.ts';

/**
 * Reads the scenario that a command line names: a preset, a YAML or JSON file, or `-` for standard input.
 *
 * @throws {UsageError} if a file cannot be read   @throws {RangeError} for an unknown preset or a text that is no document
 */
export function scenarioDocument(name: string): object {
  if (presets.some(({ id }) => id === name)) return preset(name);
  const isFile = name === '-' || /[./\\]/.test(name);
  if (!isFile) return preset(name); // refuses, naming the choices
  let text: string;
  try {
    text = readFileSync(name === '-' ? 0 : name, 'utf8');
  } catch (error) {
    throw new UsageError(`${name}: cannot be read (${(error as NodeJS.ErrnoException).code})`);
  }
  return readScenarioText(name === '-' ? 'standard input' : name, text);
}
