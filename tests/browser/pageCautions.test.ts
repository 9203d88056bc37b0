import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, inject, it } from 'vitest';
import type { Bench } from '../../src/web/model/bench.ts';
import { launchChromium } from './chromium.ts';
import { openWatched } from './watchedPage.ts';

let browser: Browser;
beforeAll(async () => {
  browser = await launchChromium();
});
afterAll(() => browser?.close());

describe('cautions on the page', () => {
  it('one quiet line for a usual click; it opens by keyboard and follows the settings', async () => {
    const { page, problems } = await openWatched(browser, `${inject('siteUrl')}#scenario=quiet-sleeper&seed=1`);
    const summary = page.locator('sweep-cautions summary');
    await expect.poll(() => summary.innerText()).toBe('No diagnosis; local protocol first. Cautions (2)');
    expect(await page.locator('footer').innerText()).toContain('The lab makes no sound.');
    await summary.focus();
    await page.keyboard.press('Enter');
    expect(await page.locator('sweep-cautions li').allInnerTexts()).toEqual([
      expect.stringContaining('makes no diagnosis'),
      expect.stringContaining('Your local protocol'),
    ]);

    const level = page.locator('sweep-drawer [id="stimulus.levelDbNhl"]');
    await level.fill('95');
    await level.press('Tab');
    await expect.poll(() => summary.innerText()).toBe('Mind the ear: 95 dB nHL is loud. Cautions (6)');
    const sentences = (await page.locator('sweep-cautions li').allInnerTexts()).join(' ');
    for (const word of ['dB SPL', 'ear canal', 'Count both ears', 'illustrative', 'must not be listened to']) {
      expect(sentences).toContain(word);
    }
    expect(problems).toEqual([]);
    await page.context().close();
  });

  it('warns of the loud bursts of a muscle response, in sight without scrolling', async () => {
    const { page, problems } = await openWatched(browser, `${inject('siteUrl')}#scenario=held-neck&seed=1`);
    const summary = page.locator('sweep-cautions summary');
    await expect.poll(() => summary.innerText()).toBe('Mind the ear: 97 dB nHL is loud. Cautions (7)');
    await page.setViewportSize({ width: 1280, height: 800 });
    const box = await summary.boundingBox();
    expect((box?.y ?? Infinity) + (box?.height ?? 0)).toBeLessThanOrEqual(800);
    expect(problems).toEqual([]);
    await page.context().close();
  });
});

describe('unusual settings on the page', () => {
  it('are named beside the cautions, with key, rule and value, as long as they hold', async () => {
    const { page, problems } = await openWatched(browser, `${inject('siteUrl')}#scenario=quiet-sleeper&seed=1`);
    const summary = page.locator('sweep-cautions summary');
    await expect.poll(() => summary.innerText()).toBe('No diagnosis; local protocol first. Cautions (2)');
    const level = page.locator('sweep-drawer [id="stimulus.levelDbNhl"]');
    await level.fill('98');
    await level.press('Tab');
    await expect
      .poll(() => summary.innerText())
      .toBe('Mind the ear: 98 dB nHL is loud. Cautions (6) Unusual settings (1)');
    await summary.click();
    expect(await page.locator('sweep-cautions li').first().innerText()).toBe(
      'Unusual: stimulus.levelDbNhl is seldom above 95 dB nHL for click-abr, got 98',
    );
    // Not while a lesson or a drill keeps settings out of sight: the warnings would give them away.
    const hide = (hidden: boolean) =>
      page
        .locator('sweep-cautions')
        .evaluate((node, on) => (node as unknown as { bench: Bench }).bench.lock(on ? [] : null, on), hidden);
    await hide(true);
    await expect.poll(() => summary.innerText()).toBe('Mind the ear: 98 dB nHL is loud. Cautions (6)');
    expect(await page.locator('sweep-cautions li.unusual').count()).toBe(0);
    await hide(false);
    await expect.poll(() => page.locator('sweep-cautions li.unusual').count()).toBe(1);
    await level.fill('75');
    await level.press('Tab');
    await expect.poll(() => summary.innerText()).toBe('No diagnosis; local protocol first. Cautions (2)');
    expect(await page.locator('sweep-cautions li.unusual').count()).toBe(0);
    expect(problems).toEqual([]);
    await page.context().close();
  });
});

describe('sound', () => {
  const makers = /AudioContext|AudioWorklet|new Audio\b|<audio|HTMLMediaElement|OscillatorNode|speechSynthesis/;

  it('is made nowhere: no source of the page can', () => {
    const folder = fileURLToPath(new URL('../../src/', import.meta.url));
    const files = readdirSync(folder, { recursive: true, encoding: 'utf8' }).filter((name) =>
      /\.(ts|html)$/.test(name),
    );
    expect(files.length).toBeGreaterThan(100);
    for (const name of files) expect(makers.test(readFileSync(`${folder}${name}`, 'utf8')), name).toBe(false);
    expect(makers.test('new AudioContext()')).toBe(true);
  });
});
