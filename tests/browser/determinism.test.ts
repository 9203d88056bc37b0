import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, inject, it } from 'vitest';
import { EVERYTHING, sessionDigest } from '../core/session/digest.ts';
import { launchChromium } from './chromium.ts';
import { openWatched } from './watchedPage.ts';

describe('the same scenario and seed', () => {
  let browser: Browser;
  beforeAll(async () => {
    browser = await launchChromium();
  });
  afterAll(() => browser?.close());

  it('give the same bits in Chromium and in Node, for blocks of 1, 37 and 4096 samples', async () => {
    const { page, problems } = await openWatched(browser, inject('sourceUrl'));
    const inBrowser = await page.evaluate(
      async ([document, seed]) => {
        const module = await importModule<typeof import('../core/session/digest.ts')>('/tests/core/session/digest.ts');
        return [1, 37, 4096].map((block) => module.sessionDigest(document, seed, block));
      },
      [EVERYTHING, '7'] as const,
    );
    const inNode = sessionDigest(EVERYTHING, '7');
    expect(inBrowser).toEqual([inNode, inNode, inNode]);
    expect(problems).toEqual([]);
  });
});
