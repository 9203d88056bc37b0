import { execFileSync, spawnSync } from 'node:child_process';
import { accessSync, constants, statSync } from 'node:fs';
import { delimiter, join } from 'node:path';

/** The first of these programs that is on PATH, with its path; undefined if none is. */
export function firstOnPath(names: readonly string[]): string | undefined {
  const folders = [...(process.env.PATH ?? '').split(delimiter), '/usr/bin'].filter((folder) => folder !== '');
  return names.flatMap((name) => folders.map((folder) => join(folder, name))).find(isProgram);
}

export function isProgram(path: string): boolean {
  try {
    accessSync(path, constants.X_OK);
    return statSync(path).isFile();
  } catch {
    return false;
  }
}

/**
 * Installs packages with apt-get, on a Debian-like machine where this process may.
 *
 * @param why - said on the console first, for example 'The browser tests need Chromium and this machine has none'
 * @param remedy - said where nothing can be installed
 * @throws {Error} with the remedy, or with apt-get's own complaint
 */
export function installPackages(packages: readonly string[], why: string, remedy: string): void {
  const isRoot = process.getuid?.() === 0;
  const canBecomeRoot = isRoot || spawnSync('sudo', ['-n', 'true']).status === 0;
  if (firstOnPath(['apt-get']) === undefined || !canBecomeRoot) throw new Error(`installPackages: ${why}; ${remedy}`);
  console.log(`${why}: apt-get install ${packages.join(' ')} ...`);
  runAptGet(isRoot, ['update']);
  runAptGet(isRoot, ['install', '-y', '--no-install-recommends', ...packages]);
}

function runAptGet(isRoot: boolean, words: string[]): void {
  // Another installation on this machine may hold the lock: wait for it rather than fail.
  const command = ['env', 'DEBIAN_FRONTEND=noninteractive', 'apt-get', '-q', '-o', 'DPkg::Lock::Timeout=300', ...words];
  const [program, ...rest] = isRoot ? command : ['sudo', '-n', ...command];
  try {
    execFileSync(program, rest, { stdio: ['ignore', 'pipe', 'pipe'], maxBuffer: 64 * 1024 * 1024 });
  } catch (error) {
    const complaint = String((error as { stderr?: Buffer }).stderr ?? error).trim();
    throw new Error(`installPackages: "apt-get ${words.join(' ')}" must succeed, got: ${complaint}`);
  }
}
