import { readFileSync } from 'node:fs';
import type { AveragingStrategy } from '../../core/averaging/strategy.ts';
import { bytesHash } from '../contentHash.ts';
import type { StudyOrder } from '../engine.ts';
import { type Outside, planStudy, type StudyFile, type StudyPlan } from '../plan.ts';
import { StudyError } from '../studyError.ts';

/** Address of the module that loads strategies from files into a sandbox; its export is `outsideStrategy(path)`. */
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
    bytesOf(file);
    if (loader === null)
      throw new StudyError(`strategies: ${file.name} cannot be loaded here, only lab strategies can`);
    const { outsideStrategy } = (await import(loader)) as {
      outsideStrategy(path: string): Promise<AveragingStrategy>;
    };
    outside.set(file.name, await outsideStrategy(file.path));
  }
  return outside;
}

/** The bytes of a file of a study. @throws {StudyError} if it is not there, or not the file that was planned with */
export function bytesOf(file: StudyFile): Uint8Array {
  const place = file.kind === 'strategy' ? 'strategies' : 'background.files';
  let bytes: Uint8Array;
  try {
    bytes = readFileSync(file.path);
  } catch (error) {
    throw new StudyError(`${place}: ${file.name} cannot be read on this machine (${(error as { code: string }).code})`);
  }
  const hash = bytesHash(bytes);
  if (hash !== file.hash) {
    const short = (text: string) => text.slice(0, 12);
    throw new StudyError(
      `${place}: ${file.name} must be the file of the study (${short(file.hash)}), got ${short(hash)}`,
    );
  }
  return bytes;
}
