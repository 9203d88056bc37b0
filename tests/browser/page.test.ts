import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, inject, it } from 'vitest';
import { launchChromium } from './chromium.ts';
import { openWatched } from './watchedPage.ts';

describe('the built site', () => {
  let browser: Browser;
  beforeAll(async () => {
    browser = await launchChromium();
  });
  afterAll(() => browser?.close());

  it('opens without a single problem, under its own content security policy', async () => {
    const { page, problems } = await openWatched(browser, inject('siteUrl'));
    expect(await page.title()).toContain('Sweepwise');
    expect(await page.locator('meta[http-equiv="Content-Security-Policy"]').count()).toBe(1);
    expect(await page.locator('h1').innerText()).toBe('Sweepwise');
    expect(problems).toEqual([]);
  });
});

describe('the watched page', () => {
  it('reports console errors, thrown errors and foreign requests', async () => {
    const browser = await launchChromium();
    const { page, problems } = await openWatched(browser, inject('sourceUrl'));
    expect(problems).toEqual([]);

    await page.evaluate(() => {
      console.error('a shader did not compile');
      setTimeout(() => {
        throw new Error('thrown later');
      });
      return fetch('http://127.0.0.1:1/elsewhere').catch(() => undefined);
    });
    await expect
      .poll(() => problems.map((problem) => problem.split(':')[0]).sort())
      .toEqual(expect.arrayContaining(['console', 'error', 'foreign', 'request']));
    await browser.close();
  });
});

describe('the source server', () => {
  it('runs a core module in the browser and gives the bits that Node gives', async () => {
    const browser = await launchChromium();
    const { page, problems } = await openWatched(browser, inject('sourceUrl'));
    const inBrowser = await page.evaluate(async () => {
      const { stream, nextUniform } =
        await importModule<typeof import('../../src/core/random/stream.ts')>('/src/core/random/stream.ts');
      const state = stream('7', 'source server');
      return [nextUniform(state), nextUniform(state)];
    });
    await browser.close();

    const { stream, nextUniform } = await import('../../src/core/random/stream.ts');
    const state = stream('7', 'source server');
    expect(inBrowser).toEqual([nextUniform(state), nextUniform(state)]);
    expect(problems).toEqual([]);
  });
});
