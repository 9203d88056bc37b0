import axe from 'axe-core';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, inject, it } from 'vitest';
import { launchChromium } from './chromium.ts';
import { openWatched } from './watchedPage.ts';

let browser: Browser;
beforeAll(async () => {
  browser = await launchChromium();
});
afterAll(() => browser?.close());

const soon = { timeout: 30_000 };

/** What axe-core objects to within the lesson, as `rule: target`. */
async function objections(page: Page): Promise<string[]> {
  await page.evaluate(axe.source);
  return page.evaluate(async () => {
    const { axe: checker } = globalThis as unknown as { axe: typeof axe };
    const { violations } = await checker.run();
    const objections = violations.flatMap(({ id, nodes }) => nodes.map(({ target }) => `${id}: ${target.join(' ')}`));
    return objections.filter((objection) => objection.includes('sweep-lesson')); // the rest is the page's own test
  });
}

async function openLesson(page: Page, slug: string): Promise<void> {
  await page.getByRole('tab', { name: 'Lessons' }).click();
  await page.locator(`#open-${slug}`).click();
}

describe('a lesson on the page', () => {
  it('is played from prediction to mark by keyboard and labels, sealed until a run has ended, and survives a reload', async () => {
    const { page, problems } = await openWatched(browser, inject('siteUrl'));
    await openLesson(page, 'where-to-draw-the-line');
    await expect.poll(() => page.getByText('Tomas is 35').isVisible(), soon).toBe(true);
    await page.locator('#to-prediction').press('Enter');

    const order = ['±8 µV', '±20 µV', '±4 µV', '±50 µV', '±100 µV'];
    for (const [k, item] of order.entries()) {
      await page.getByLabel(`Place of ${item}, 1 is the lowest`).selectOption(String(k + 1));
    }
    await page.getByLabel(/will pass a threshold of ±8/).fill('82');
    await page.getByLabel(/Shrink it/).press(' ');
    expect(await objections(page)).toEqual([]);
    await page.locator('#lock').press('Enter');

    // On the bench: the lesson's patient, only its control free, the truth out of reach.
    const story = page.locator('sweep-patient .story');
    await expect.poll(() => story.innerText(), soon).toContain('Tomas, 35');
    expect(await page.locator('#patient').isDisabled()).toBe(true);
    expect(await page.locator('.seal').isDisabled()).toBe(true);
    await page.keyboard.press('t');
    expect(await page.locator('sweep-lane #true').count()).toBe(0);
    await page.locator('#speed').selectOption({ label: 'as fast as it goes' });
    await page.locator('#setting-threshold').fill('9');
    await page.locator('#setting-threshold').press('Tab');
    await page.locator('#setting-large-threshold').fill('500');
    await page.locator('#setting-large-threshold').press('Tab');
    expect(await page.getByRole('alert').innerText()).toContain('must be from 1 to 200 µV, got 500');
    await page.locator('#setting-large-threshold').fill('15');
    await page.locator('#setting-large-threshold').press('Tab');
    await expect.poll(() => page.locator('#unseal').isEnabled(), soon).toBe(true);
    await page.locator('#unseal').press('Enter');
    await expect.poll(() => page.locator('sweep-lane #true').count(), soon).toBe(4);
    await page.locator('#to-answers').press('Enter');

    await page.getByLabel(/what amplitude gain does rejection show/).fill('0.8');
    await page.getByLabel(/what share of the sweeps passed/).fill('25');
    for (const option of [/Between ±5 and/, /noise happens to oppose/, /Most bursts stay/, /A good part of/]) {
      await page.getByLabel(option).check();
    }
    await page.locator('#mark-it').press('Enter');

    const total = page.locator('#total');
    await expect.poll(() => total.isVisible(), soon).toBe(true);
    expect(Number.parseInt(await total.innerText(), 10)).toBeGreaterThanOrEqual(85);
    // A number and a rule for every line, seconds for every strategy.
    const lines = page.locator('sweep-lesson-mark li');
    expect(await lines.count()).toBe(12);
    for (const line of await lines.allInnerTexts()) expect(line).toMatch(/model[\s\S]*\d[\s\S]*rule/);
    expect(await page.locator('sweep-lesson-mark tbody tr').count()).toBe(4);
    expect(await objections(page)).toEqual([]);

    await page.setViewportSize({ width: 390, height: 844 });
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390);

    const before = await total.innerText();
    await page.reload();
    await openLesson(page, 'where-to-draw-the-line');
    await expect.poll(() => total.innerText(), soon).toBe(before);
    expect(problems).toEqual([]);
    await page.context().close();
  });
});
