import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';

const bin = fileURLToPath(new URL('../../src/cli/bin.mjs', import.meta.url));

/** A finished run of the command. */
export interface Finished {
  status: number | null;
  stdout: string;
  stderr: string;
}

/** Runs `sweepwise` with the given words, both outputs piped. */
export function sweepwise(words: readonly string[], input = ''): Finished {
  const { status, stdout, stderr } = spawnSync(process.execPath, [bin, ...words], { encoding: 'utf8', input });
  return { status, stdout, stderr };
}
