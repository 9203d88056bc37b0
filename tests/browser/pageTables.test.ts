import axe from 'axe-core';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, inject, it } from 'vitest';
import { launchChromium } from './chromium.ts';
import { picturesWithTables } from './pictureTables.ts';
import { openWatched } from './watchedPage.ts';

let browser: Browser;
beforeAll(async () => {
  browser = await launchChromium();
});
afterAll(() => browser?.close());

const soon = { timeout: 30_000 };

/** What must be done before a view has all its pictures, and how many it has then, the two of the belt among them. */
const views: readonly { title: string; count: number; prepare?: (page: Page) => Promise<void> }[] = [
  { title: 'Race', count: 11 },
  { title: 'Read', count: 3, prepare: (page) => page.getByRole('button', { name: 'By the rule' }).click() },
  {
    title: 'Compare',
    count: 3,
    async prepare(page) {
      await page.getByRole('button', { name: 'without muscle bursts' }).click();
      await page.getByRole('button', { name: 'Run both to the end' }).click();
      await page.locator('sweep-compare .picture').waitFor(soon);
    },
  },
  {
    title: 'Series',
    count: 4,
    async prepare(page) {
      await page.getByRole('button', { name: 'Run this level' }).click();
      await page.locator('sweep-series .latency').waitFor(soon);
    },
  },
  {
    title: 'Verdict',
    count: 4,
    async prepare(page) {
      await page.locator('#others').click();
      await page.locator('sweep-verdict .cloud').waitFor({ timeout: 90_000 });
    },
  },
  { title: 'Leads', count: 3 },
  { title: 'Rates', count: 4 },
  { title: 'Duel', count: 4 },
];

describe('pictures as tables', () => {
  it('every picture of every view has one, opened by keyboard, with its values', async () => {
    const link = '#scenario=jaw-clencher&seed=3&set=session.durationS=8';
    const { page, problems } = await openWatched(browser, `${inject('siteUrl')}${link}`, {
      viewport: { width: 1280, height: 800 },
    });
    await page.selectOption('#speed', { label: 'as fast as it goes' });
    await page.getByText('session over', { exact: true }).waitFor({ timeout: 60_000 });
    for (const { title, count, prepare } of views) {
      await page.locator('.rail button', { hasText: title }).click();
      await prepare?.(page);
      const pictures = await picturesWithTables(page);
      expect(
        pictures.filter(({ lack }) => lack !== null).map(({ name, lack }) => `${name}: ${lack}`),
        title,
      ).toEqual([]);
      expect(pictures, title).toHaveLength(count);
      for (const { name, cells } of pictures) expect(new Set(cells.flat()).size, name).toBeGreaterThan(4);
      if (title === 'Race') {
        const [, sweep] = pictures;
        expect(sweep.cells).toHaveLength(41); // a long curve is thinned, first and last kept
        const claim = await page.locator('sweep-lane #claim').first().innerText();
        const race = pictures.find(({ name }) => name.startsWith('Residual noise'));
        const told = Number(race?.cells.at(-1)?.[2]);
        const shown = Number.parseFloat(claim) * (claim.endsWith('µV') ? 1000 : 1);
        expect(Math.abs(told / shown - 1)).toBeLessThan(0.01);
        await page.evaluate(axe.source);
        const { violations } = await page.evaluate(async () =>
          (globalThis as unknown as { axe: typeof axe }).axe.run(),
        );
        expect(violations.map(({ id }) => id)).toEqual([]);
      }
    }
    // What is sealed is sealed in an open table, too.
    await page.locator('.rail button', { hasText: 'Race' }).click();
    const race = async () => (await picturesWithTables(page)).find(({ name }) => /against seconds/.test(name));
    expect((await race())?.cells[0].join(' ')).toContain('residual noise');
    await page.locator('h1').click();
    await page.keyboard.press('t');
    await expect.poll(async () => (await race())?.cells[0].join(' '), soon).not.toContain('residual noise');
    expect(problems).toEqual([]);
    await page.context().close();
  });
});
