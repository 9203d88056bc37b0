import { execFileSync, spawnSync } from 'node:child_process';
import { accessSync, constants, statSync } from 'node:fs';
import { delimiter, join } from 'node:path';
import { type Browser, chromium } from 'playwright-core';

const programNames = ['chromium', 'chromium-browser', 'google-chrome', 'google-chrome-stable'];
const packages = ['chromium', 'fonts-dejavu-core'];

const launchArguments = [
  '--no-sandbox', // tests run as root in containers, where the sandbox cannot start
  '--use-angle=swiftshader', // the same software drawing everywhere
  '--enable-unsafe-swiftshader',
  '--ignore-gpu-blocklist',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
];

/**
 * Finds a Chromium and, on a Debian-like machine without one, installs it first.
 *
 * Order: the environment variable SWEEPWISE_CHROMIUM, then the usual program names on PATH, then apt-get.
 *
 * @throws {Error} if there is none and none could be installed
 */
export async function chromiumPath(): Promise<string> {
  const named = process.env.SWEEPWISE_CHROMIUM;
  if (named !== undefined && named !== '') {
    if (isProgram(named)) return named;
    throw new Error(`chromiumPath: SWEEPWISE_CHROMIUM must name a program, got ${named}`);
  }
  const present = firstOnPath(programNames);
  if (present !== undefined) return present;

  installChromium();
  const installed = firstOnPath(programNames);
  if (installed !== undefined) return installed;
  throw new Error('chromiumPath: apt-get installed Chromium, yet no chromium is on PATH');
}

/** Starts a headless Chromium that draws WebGL in software. The caller closes it. */
export async function launchChromium(): Promise<Browser> {
  return chromium.launch({ executablePath: await chromiumPath(), args: launchArguments, chromiumSandbox: false });
}

function isProgram(path: string): boolean {
  try {
    accessSync(path, constants.X_OK);
    return statSync(path).isFile();
  } catch {
    return false;
  }
}

function firstOnPath(names: string[]): string | undefined {
  const folders = [...(process.env.PATH ?? '').split(delimiter), '/usr/bin'].filter((folder) => folder !== '');
  return names.flatMap((name) => folders.map((folder) => join(folder, name))).find(isProgram);
}

function installChromium(): void {
  const isRoot = process.getuid?.() === 0;
  const canBecomeRoot = isRoot || spawnSync('sudo', ['-n', 'true']).status === 0;
  if (firstOnPath(['apt-get']) === undefined || !canBecomeRoot) {
    throw new Error(
      'chromiumPath: the browser tests need Chromium, found none; install the package "chromium" (or Google Chrome), ' +
        'or set SWEEPWISE_CHROMIUM to the program',
    );
  }
  console.log(`The browser tests need Chromium and this machine has none: apt-get install ${packages.join(' ')} ...`);
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
    throw new Error(`chromiumPath: "apt-get ${words.join(' ')}" must succeed, got: ${complaint}`);
  }
}
