import { presets } from '../core/scenario/presets.ts';
import { readScenarioText } from '../formats/scenarioText.ts';
import { bytesHash } from './contentHash.ts';
import type { StudyOrder } from './engine.ts';
import type { StudyFile } from './plan.ts';
import { readStudy } from './readStudy.ts';
import type { ScenarioEntry, StudyDocument } from './schema.ts';
import { StudyError } from './studyError.ts';

/** Gives the files that a study names. @throws {StudyError} for one that is not there: place, name and reason */
export interface NamedFiles {
  bytes(name: string, place: string): Uint8Array;
  /** Where the file lies on this machine. */
  path(name: string): string;
}

/**
 * Puts a study and what it names together: scenario files become part of the study, recordings are hashed.
 *
 * @param fileName - of the study, for refusals
 * @throws {StudyError} one line; those of the text itself have file and line, others begin with the key
 */
export function assembleStudy(fileName: string, text: string, named: NamedFiles): StudyOrder {
  const written = readStudy(fileName, text);
  const study: StudyDocument = {
    ...written,
    scenarios: written.scenarios.map((entry, k) => embedded(entry, named, `scenarios.${k}`)),
    ...(written.test ? { test: written.test.map((entry, k) => embedded(entry, named, `test.${k}`)) } : {}),
  };
  return { study, files: filesOf(study, named) };
}

/** Puts the content of a scenario file in the place of its name. */
function embedded(entry: ScenarioEntry, named: NamedFiles, place: string): ScenarioEntry {
  const { scenario } = entry;
  if (typeof scenario !== 'string' || presets.some(({ id }) => id === scenario)) return entry;
  if (!isFile(scenario)) return entry; // refused later, naming the presets
  const text = new TextDecoder().decode(named.bytes(scenario, `${place}.scenario`));
  try {
    return { ...entry, scenario: readScenarioText(scenario, text) as Record<string, unknown> };
  } catch (error) {
    throw new StudyError(`${place}.scenario: ${(error as Error).message}`);
  }
}

/** Recordings and strategies that the study names, each once, with the hash of its bytes. */
function filesOf(study: StudyDocument, named: NamedFiles): StudyFile[] {
  const entries = [...study.scenarios, ...(study.test ?? [])];
  const recordings = entries.flatMap(({ background }) => background?.files ?? []);
  const strategies = study.strategies.map(({ strategy }) => strategy).filter(isFile);
  const fileAt = (name: string, kind: StudyFile['kind'], place: string): StudyFile => {
    return { kind, name, path: named.path(name), hash: bytesHash(named.bytes(name, place)) };
  };
  return [
    ...[...new Set(recordings)].map((name) => fileAt(name, 'recording', 'background.files')),
    ...[...new Set(strategies)].map((name) => fileAt(name, 'strategy', 'strategies')),
  ];
}

function isFile(name: string): boolean {
  return /[./\\]/.test(name);
}
