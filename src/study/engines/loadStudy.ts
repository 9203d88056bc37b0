import { readFileSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import { presets } from '../../core/scenario/presets.ts';
import { readScenarioText } from '../../formats/scenarioText.ts';
import { bytesHash } from '../contentHash.ts';
import { planStudy, type StudyFile, type StudyPlan } from '../plan.ts';
import { atLine, readStudy } from '../readStudy.ts';
import type { ScenarioEntry, StudyDocument } from '../schema.ts';
import { StudyError } from '../studyError.ts';
import { type LoaderAddress, outsideOf } from './openPlan.ts';

/**
 * Reads a study file and everything it names: scenario files become part of the study, recordings are hashed.
 *
 * Paths count from the folder of the study file.
 *
 * @param file - path of the study file, or `-` for standard input
 * @throws {StudyError} one line: file, line, key, rule and value
 */
export async function loadStudy(file: string, loader: LoaderAddress = null): Promise<StudyPlan> {
  const text = readText(file === '-' ? 0 : file, file);
  const name = file === '-' ? 'standard input' : file;
  const folder = file === '-' ? process.cwd() : dirname(resolve(file));
  const written = readStudy(name, text);
  try {
    const study: StudyDocument = {
      ...written,
      scenarios: written.scenarios.map((entry, k) => embedded(entry, folder, `scenarios.${k}`)),
      ...(written.test ? { test: written.test.map((entry, k) => embedded(entry, folder, `test.${k}`)) } : {}),
    };
    const files = filesOf(study, folder);
    return planStudy(study, files, await outsideOf(files, loader));
  } catch (error) {
    throw error instanceof StudyError ? atLine(name, text, error) : error;
  }
}

/** Puts the content of a scenario file in the place of its name. */
function embedded(entry: ScenarioEntry, folder: string, place: string): ScenarioEntry {
  const { scenario } = entry;
  if (typeof scenario !== 'string' || presets.some(({ id }) => id === scenario)) return entry;
  if (!/[./\\]/.test(scenario)) return entry; // refused later, naming the presets
  const path = resolve(folder, scenario);
  try {
    return { ...entry, scenario: readScenarioText(scenario, readText(path, scenario)) as Record<string, unknown> };
  } catch (error) {
    throw new StudyError(`${place}.scenario: ${(error as Error).message}`);
  }
}

/** Recordings and strategies that the study names, each once, with the hash of its bytes. */
function filesOf(study: StudyDocument, folder: string): StudyFile[] {
  const entries = [...study.scenarios, ...(study.test ?? [])];
  const recordings = entries.flatMap(({ background }) => background?.files ?? []);
  const strategies = study.strategies.map(({ strategy }) => strategy).filter((name) => /[./\\]/.test(name));
  return [
    ...[...new Set(recordings)].map((name) => fileAt(folder, name, 'recording', 'background.files')),
    ...[...new Set(strategies)].map((name) => fileAt(folder, name, 'strategy', 'strategies')),
  ];
}

function fileAt(folder: string, name: string, kind: StudyFile['kind'], place: string): StudyFile {
  const path = resolve(folder, name);
  try {
    return { kind, name, path, hash: bytesHash(readFileSync(path)) };
  } catch (error) {
    throw new StudyError(`${place}: ${name} cannot be read (${(error as NodeJS.ErrnoException).code})`);
  }
}

function readText(file: string | number, name: string): string {
  try {
    return readFileSync(file, 'utf8');
  } catch (error) {
    throw new StudyError(`${name}: cannot be read (${(error as NodeJS.ErrnoException).code})`);
  }
}
