import { readFileSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import { assembleStudy } from '../assembleStudy.ts';
import { planStudy, type StudyPlan } from '../plan.ts';
import { atLine } from '../readStudy.ts';
import { StudyError } from '../studyError.ts';
import { type LoaderAddress, outsideOf, wholeFiles } from './openPlan.ts';

/**
 * Reads a study file and everything it names: scenario files become part of the study, recordings are hashed.
 *
 * Paths count from the folder of the study file.
 *
 * @param file - path of the study file, or `-` for standard input
 * @throws {StudyError} one line: file, line, key, rule and value
 */
export async function loadStudy(file: string, loader: LoaderAddress = null): Promise<StudyPlan> {
  const name = file === '-' ? 'standard input' : file;
  const text = readText(file === '-' ? 0 : file, name);
  const folder = file === '-' ? process.cwd() : dirname(resolve(file));
  const path = (named: string) => resolve(folder, named);
  try {
    const bytes = (named: string, place: string) => bytesAt(path(named), `${place}: ${named}`);
    const { study, files } = assembleStudy(name, text, { bytes, path });
    const whole = await wholeFiles(files, loader);
    return planStudy(study, whole, await outsideOf(whole, loader));
  } catch (error) {
    if (!(error instanceof StudyError) || error.message.startsWith(`${name}: `)) throw error;
    throw atLine(name, text, error);
  }
}

function bytesAt(path: string, what: string): Uint8Array {
  try {
    return readFileSync(path);
  } catch (error) {
    throw new StudyError(`${what} cannot be read (${(error as NodeJS.ErrnoException).code})`);
  }
}

function readText(file: string | number, name: string): string {
  try {
    return readFileSync(file, 'utf8');
  } catch (error) {
    throw new StudyError(`${name}: cannot be read (${(error as NodeJS.ErrnoException).code})`);
  }
}
