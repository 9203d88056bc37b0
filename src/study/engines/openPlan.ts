import { readFileSync, realpathSync } from 'node:fs';
import { dirname, join } from 'node:path';
import type { AveragingStrategy } from '../../core/averaging/strategy.ts';
import { bytesHash, jsonHash } from '../contentHash.ts';
import type { StudyOrder } from '../engine.ts';
import { type Outside, planStudy, type StudyFile, type StudyPlan } from '../plan.ts';
import { StudyError } from '../studyError.ts';

/** Address of the module that loads strategies from files into a sandbox: `outsideStrategy(path)`, `outsideSources(path)`. */
export type LoaderAddress = string | null;

/**
 * Works out a study on the machine that runs it, with the strategies that it brings along.
 *
 * @param loader - null where strategies from files are not possible
 * @throws {StudyError} where a strategy's file is not there, not the one of the study, or refused
 */
export async function openPlan({ study, files }: StudyOrder, loader: LoaderAddress): Promise<StudyPlan> {
  return planStudy(study, files, await outsideOf(files, loader));
}

/** Loads the strategies among the files of a study, by the name that the study gives them. */
export async function outsideOf(files: readonly StudyFile[], loader: LoaderAddress): Promise<Outside> {
  const outside = new Map<string, AveragingStrategy>();
  for (const file of files) {
    if (file.kind !== 'strategy') continue;
    if (loader === null)
      throw new StudyError(`strategies: ${file.name} cannot be loaded here, only lab strategies can`);
    const { outsideStrategy, outsideSources } = (await import(loader)) as StrategyLoader;
    expectHash(file, strategyHash(file, bytesAt(file, file.path), await outsideSources(file.path)));
    outside.set(file.name, await outsideStrategy(file.path));
  }
  return outside;
}

/** What the module at a `LoaderAddress` exports. */
interface StrategyLoader {
  outsideStrategy(path: string): Promise<AveragingStrategy>;
  outsideSources(path: string): Promise<string[]>;
}

/**
 * Gives the files of a study the hashes that it is known by: that of a strategy covers what it imports from its folder.
 *
 * A strategy of one file keeps the hash of that file.
 */
export async function wholeFiles(files: readonly StudyFile[], loader: LoaderAddress): Promise<StudyFile[]> {
  return Promise.all(
    files.map(async (file) => {
      if (file.kind !== 'strategy' || loader === null) return file;
      const { outsideSources } = (await import(loader)) as StrategyLoader;
      return { ...file, hash: strategyHash(file, bytesAt(file, file.path), await outsideSources(file.path)) };
    }),
  );
}

function strategyHash(file: StudyFile, main: Uint8Array, sources: readonly string[]): string {
  if (sources.length < 2) return bytesHash(main);
  const folder = dirname(realpathSync(file.path));
  return jsonHash(sources.map((name) => [name, bytesHash(bytesAt(file, join(folder, name)))]));
}

/** The bytes of a file of a study. @throws {StudyError} if it is not there, or not the file that was planned with */
export function bytesOf(file: StudyFile): Uint8Array {
  const bytes = bytesAt(file, file.path);
  expectHash(file, bytesHash(bytes));
  return bytes;
}

function placeOf({ kind }: StudyFile): string {
  return kind === 'strategy' ? 'strategies' : 'background.files';
}

function bytesAt(file: StudyFile, path: string): Uint8Array {
  try {
    return readFileSync(path);
  } catch (error) {
    const why = `${file.name} cannot be read on this machine (${(error as { code: string }).code})`;
    throw new StudyError(`${placeOf(file)}: ${why}`);
  }
}

function expectHash(file: StudyFile, hash: string): void {
  if (hash === file.hash) return;
  const short = (text: string) => text.slice(0, 12);
  const rule = `must be the file of the study (${short(file.hash)}), got ${short(hash)}`;
  throw new StudyError(`${placeOf(file)}: ${file.name} ${rule}`);
}
