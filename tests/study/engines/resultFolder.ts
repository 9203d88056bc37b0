import { createHash } from 'node:crypto';
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll } from 'vitest';

/** A folder for the files of one test file, gone when its tests are over. */
export function scratchFolder(name: string): string {
  const folder = mkdtempSync(join(tmpdir(), `sweepwise-${name}-`));
  afterAll(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

/** Writes a study file; returns its path. */
export function studyFile(folder: string, name: string, text: string): string {
  const path = join(folder, name);
  writeFileSync(path, text);
  return path;
}

/** Writes the example strategy of the documentation, which its own test holds to the contract, as `mine.ts`. */
export function ownStrategy(folder: string): string {
  const guide = readFileSync(new URL('../../../src/core/averaging/OWN_STRATEGY.md', import.meta.url), 'utf8');
  const path = join(folder, 'mine.ts');
  writeFileSync(path, /```ts\n([\s\S]*?)```/.exec(guide)?.[1] ?? '');
  return path;
}

/**
 * What a folder of results holds: every file by name, with a hash of its bytes. `study.json` names paths and is left
 * out, and so is what a killed writer left unfinished beside a block: nothing reads it.
 */
export function contentOf(folder: string): Record<string, string> {
  const names = readdirSync(folder, { recursive: true, encoding: 'utf8' }).filter((name) =>
    /\.(csv|parquet|html|json)$|^results\.jsonl$/.test(name),
  );
  const hash = (name: string) =>
    createHash('sha256')
      .update(readFileSync(join(folder, name)))
      .digest('hex');
  return Object.fromEntries(
    names
      .filter((name) => name !== 'study.json')
      .sort()
      .map((name) => [name, hash(name)]),
  );
}
