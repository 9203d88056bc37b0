import type { Browser, BrowserContextOptions, Page } from 'playwright-core';

/** A page and all that went wrong on it so far: console errors and warnings, thrown errors, failed or foreign requests. */
export interface WatchedPage {
  page: Page;
  problems: string[];
}

/**
 * Opens an address in a fresh context and watches it from before the first request.
 *
 * A shader that does not compile only logs an error and draws nothing, so every test ends by expecting no problems.
 *
 * @example const { page, problems } = await openWatched(browser, inject('siteUrl'), { colorScheme: 'dark' })
 */
export async function openWatched(
  browser: Browser,
  url: string,
  options?: BrowserContextOptions,
): Promise<WatchedPage> {
  const context = await browser.newContext(options);
  const page = await context.newPage();
  const problems: string[] = [];
  const { origin } = new URL(url);

  page.on('console', (message) => {
    if (message.type() === 'error' || message.type() === 'warning') problems.push(`console: ${message.text()}`);
  });
  page.on('pageerror', (error) => problems.push(`error: ${error.message}`));
  page.on('requestfailed', (request) => problems.push(`request: ${request.url()} ${request.failure()?.errorText}`));
  page.on('request', (request) => {
    const address = new URL(request.url());
    if (address.protocol.startsWith('http') && address.origin !== origin) problems.push(`foreign: ${request.url()}`);
  });
  page.on('response', (response) => {
    if (response.status() >= 400) problems.push(`response: ${response.status()} ${response.url()}`);
  });

  await page.goto(url, { waitUntil: 'load' });
  return { page, problems };
}
