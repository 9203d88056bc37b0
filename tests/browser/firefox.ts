import puppeteer, { type Browser } from 'puppeteer-core';
import { firstOnPath, installPackages, isProgram } from '../debianPackages.ts';

const programNames = ['firefox-esr', 'firefox'];
const packages = ['firefox-esr', 'fonts-dejavu-core'];

/**
 * Finds a Firefox and, on a Debian-like machine without one, installs it first.
 *
 * Order: the environment variable SWEEPWISE_FIREFOX, then the usual program names on PATH, then apt-get.
 *
 * @returns undefined, with a word on the console, where there is none and none can be installed
 * @throws {Error} in continuous integration, which must have one; or if SWEEPWISE_FIREFOX names no program
 */
export function firefoxPath(): string | undefined {
  const named = process.env.SWEEPWISE_FIREFOX;
  if (named !== undefined && named !== '') {
    if (isProgram(named)) return named;
    throw new Error(`firefoxPath: SWEEPWISE_FIREFOX must name a program, got ${named}`);
  }
  const present = firstOnPath(programNames);
  if (present !== undefined) return present;
  try {
    installPackages(
      packages,
      'One browser test needs Firefox and this machine has none',
      'install the package "firefox-esr" (or Firefox), or set SWEEPWISE_FIREFOX to the program',
    );
    return firstOnPath(programNames);
  } catch (error) {
    if (process.env.CI) throw error;
    console.warn(`Left out tests/browser/firefox.test.ts: ${(error as Error).message}\n`);
    return undefined;
  }
}

/**
 * Starts a headless Firefox, spoken to by WebDriver BiDi. The caller closes it.
 *
 * Without WebGL: a headless one has it on some machines only, and so the lab's drawing without is tried somewhere.
 */
export function launchFirefox(executablePath: string): Promise<Browser> {
  return puppeteer.launch({
    browser: 'firefox',
    executablePath,
    headless: true,
    extraPrefsFirefox: { 'webgl.disabled': true },
  });
}
