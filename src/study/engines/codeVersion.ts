import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { bytesHash } from '../contentHash.ts';

const source = fileURLToPath(new URL('../..', import.meta.url));

/**
 * The version of the program, with a fingerprint of the code that decides rows: `0.1.0+1f0c9a2b`.
 *
 * Model, formats and the study's own arithmetic count; engines, tables, statistics and reports do not.
 *
 * @param packageVersion - from package.json
 */
export function codeVersion(packageVersion: string): string {
  const files = ['core', 'formats'].flatMap((folder) =>
    readdirSync(join(source, folder), { recursive: true, encoding: 'utf8' }).map((path) => `${folder}/${path}`),
  );
  const own = ['block', 'conditions', 'latinHypercube', 'measures', 'patientDraw', 'runBlock', 'settings'];
  const paths = [...files, ...own.map((name) => `study/${name}.ts`)].filter((path) => path.endsWith('.ts')).sort();
  const text = paths.map((path) => `${path.replaceAll('\\', '/')}\0${readFileSync(join(source, path), 'utf8')}`);
  return `${packageVersion}+${bytesHash(new TextEncoder().encode(text.join('\0'))).slice(0, 8)}`;
}
