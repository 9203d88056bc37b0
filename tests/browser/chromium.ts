import { type Browser, chromium } from 'playwright-core';
import { firstOnPath, installPackages, isProgram } from '../debianPackages.ts';

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

  installPackages(
    packages,
    'The browser tests need Chromium and this machine has none',
    'install the package "chromium" (or Google Chrome), or set SWEEPWISE_CHROMIUM to the program',
  );
  const installed = firstOnPath(programNames);
  if (installed !== undefined) return installed;
  throw new Error('chromiumPath: apt-get installed Chromium, yet no chromium is on PATH');
}

/** Starts a headless Chromium that draws WebGL in software. The caller closes it. @param more - further switches */
export async function launchChromium(more: readonly string[] = []): Promise<Browser> {
  const args = [...launchArguments, ...more];
  return chromium.launch({ executablePath: await chromiumPath(), args, chromiumSandbox: false });
}
