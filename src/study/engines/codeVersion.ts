import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { bytesHash } from '../contentHash.ts';
import { StudyError } from '../studyError.ts';

const source = fileURLToPath(new URL('../..', import.meta.url));

/**
 * The version of the program, with a fingerprint of the code that decides rows: `0.1.0+1f0c9a2b`.
 *
 * Model, formats and the study's own arithmetic count; engines, tables, statistics and reports do not.
 *
 * @param packageVersion - from package.json
 */
export function codeVersion(packageVersion: string): string {
  return `${packageVersion}+${fingerprint()}`;
}

/**
 * Refuses to make rows with code that is not the code of a version: sources are read when a thread or sandbox starts,
 * and somebody may have put others there since the study began. A version without a fingerprint names no code.
 *
 * @throws {StudyError} naming both
 */
export function checkCode(version: string): void {
  const wanted = /\+([0-9a-f]{8})$/.exec(version)?.[1];
  if (wanted === undefined) return;
  const own = fingerprint();
  if (own === wanted) return;
  throw new StudyError(
    `the program: must be of version ${version} until the study ends, got code ${own} on the disk now`,
  );
}

function fingerprint(): string {
  const files = ['core', 'formats'].flatMap((folder) =>
    readdirSync(join(source, folder), { recursive: true, encoding: 'utf8' }).map((path) => `${folder}/${path}`),
  );
  const own = [
    'backgrounds',
    'block',
    'conditions',
    'latinHypercube',
    'measures',
    'patientDraw',
    'runBlock',
    'settings',
  ];
  const paths = [...files, ...own.map((name) => `study/${name}.ts`)].filter((path) => path.endsWith('.ts')).sort();
  const text = paths.map((path) => `${path.replaceAll('\\', '/')}\0${readFileSync(join(source, path), 'utf8')}`);
  return bytesHash(new TextEncoder().encode(text.join('\0'))).slice(0, 8);
}
