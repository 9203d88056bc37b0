import { DEFAULT_PRESET, preset, presets } from '../../core/scenario/presets.ts';
import { resolveScenario, withOverrides } from '../../core/scenario/resolve.ts';
import type { Bench } from './bench.ts';
import { type BenchPlace, placeOf, readPlace, writePlace } from './benchPlace.ts';

/** What a link carries: which patient, and everything that differs from it. */
export interface LinkedScenario {
  document: object;
  seed: string;
  /** Whether the truth comes sealed. */
  sealed: boolean;
  /** Where the run stands; at its beginning if the link does not say. */
  place: BenchPlace;
}

/**
 * Writes a bench as the part of an address after `#`: a preset, the seed and what was changed.
 *
 * @example scenarioLink(preset('quiet-sleeper'), '7') // 'scenario=quiet-sleeper&seed=7'
 */
export function scenarioLink(document: object, seed: string): string {
  const { id } = document as { id?: string };
  const base = presets.find((entry) => entry.id === id);
  const parameters = new URLSearchParams();
  if (base) parameters.set('scenario', base.id);
  parameters.set('seed', seed);
  for (const change of changedSettings(document)) parameters.append('set', change);
  return parameters.toString();
}

/** What differs from the preset of the same name, or from the defaults where there is none, each as `path=value`. */
export function changedSettings(document: object): string[] {
  const { id } = document as { id?: string };
  const base = presets.find((entry) => entry.id === id) ?? {};
  return differences(resolveScenario(base), resolveScenario(document), '');
}

/**
 * Writes the whole bench as the text of a link: scenario with its events, seed, lanes, whether the truth is sealed, how
 * far the run has come, the view, the marks.
 */
export function benchLink(bench: Bench): string {
  const parameters = new URLSearchParams(scenarioLink(bench.scenario, bench.seed));
  if (bench.truthSealed) parameters.set('sealed', '1');
  writePlace(parameters, placeOf(bench));
  return parameters.toString();
}

/**
 * Reads what `scenarioLink` wrote; an empty text is the default patient with seed 1.
 *
 * @throws {RangeError} for an unknown preset, a change that the scenario refuses, or a place that cannot be
 */
export function readScenarioLink(hash: string): LinkedScenario {
  const parameters = new URLSearchParams(hash.replace(/^#/, ''));
  const id = parameters.get('scenario');
  const changes = parameters.getAll('set');
  const base = id === null ? (changes.length > 0 ? {} : preset(DEFAULT_PRESET)) : preset(id);
  const document = withOverrides(base, changes);
  resolveScenario(document);
  return {
    document,
    seed: parameters.get('seed') || '1',
    sealed: parameters.get('sealed') === '1',
    place: readPlace(parameters),
  };
}

function differences(base: unknown, value: unknown, path: string): string[] {
  if (typeof value !== 'object' || value === null || Array.isArray(value)) {
    return JSON.stringify(base) === JSON.stringify(value) ? [] : [`${path}=${JSON.stringify(value)}`];
  }
  return Object.entries(value).flatMap(([key, entry]) =>
    differences((base as Record<string, unknown>)[key], entry, path === '' ? key : `${path}.${key}`),
  );
}
