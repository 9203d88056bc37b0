import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, inject, it } from 'vitest';
import { launchChromium } from './chromium.ts';
import { openWatched } from './watchedPage.ts';

let browser: Browser;
beforeAll(async () => {
  browser = await launchChromium();
});
afterAll(() => browser?.close());

const soon = { timeout: 20_000 };

/** Runs a short session to its end. */
async function openFinished(link: string): Promise<{ page: Page; problems: string[] }> {
  const opened = await openWatched(browser, `${inject('siteUrl')}${link}`);
  await opened.page.selectOption('#speed', { label: 'as fast as it goes' });
  await opened.page.getByText('session over', { exact: true }).waitFor({ timeout: 60_000 });
  return opened;
}

describe('the reading desk', () => {
  it('marks by keyboard under seal, commits, and only then shows how far off the marks are', async () => {
    const { page, problems } = await openFinished('#scenario=quiet-sleeper&seed=3&set=session.durationS=40&sealed=1');
    await page.keyboard.press('2');
    const desk = page.locator('sweep-read section');
    const cursor = desk.getByRole('slider', { name: 'Cursor on the average' });
    await cursor.focus();
    for (let k = 0; k < 4; k++) await page.keyboard.press('ArrowRight');
    await expect.poll(() => cursor.getAttribute('aria-valuetext'), soon).toMatch(/^5\.25 ms, .*Enter puts I$/);
    await page.keyboard.press('a'); // a second cursor, to measure from
    for (let k = 0; k < 4; k++) await page.keyboard.press('ArrowRight');
    await expect.poll(() => desk.locator('#span').innerText(), soon).toMatch(/^from 5\.25 ms: 0\.25 ms, −?\d+ ±\d+ nV/);
    for (let k = 0; k < 4; k++) await page.keyboard.press('ArrowLeft');
    await page.keyboard.press('a');
    await page.keyboard.press('ArrowDown');
    await page.keyboard.press('ArrowDown');
    await page.keyboard.press('Enter');
    const row = desk.getByRole('row', { name: /^V/ });
    await expect.poll(() => row.innerText(), soon).toMatch(/V\s+5\.\d+ ±0\.\d+ ms\s+\d+ ±\d+ nV/);
    expect(await page.locator('sweep-lab').getByText('off by').count()).toBe(0);

    await desk.getByRole('button', { name: 'Commit marks and break the seal' }).click();
    await expect.poll(() => desk.getByRole('columnheader', { name: 'off by' }).count(), soon).toBe(1);
    expect(await row.innerText()).toMatch(/−?0\.\d\d ms, −?\d+ nV/);
    expect(await desk.getByRole('status').innerText()).toContain('Largest latency error');
    expect(await desk.getByRole('button', { name: 'Remove mark V' }).count()).toBe(0);

    // The link brings all of it back: the end of the run, the desk, the committed mark and what it is off by.
    await page.getByRole('button', { name: 'Take away' }).click();
    await page.getByRole('button', { name: 'Copy bench link' }).click();
    await expect.poll(() => page.locator('sweep-take-away output').count(), soon).toBe(1);
    const link = await page.locator('sweep-take-away output').innerText();
    await page.getByRole('button', { name: 'Close' }).click();
    const linked = await openWatched(browser, link);
    const sameDesk = linked.page.locator('sweep-read section');
    await expect
      .poll(() => sameDesk.getByRole('status').allInnerTexts(), soon)
      .toEqual([expect.stringContaining('Committed at')]);
    expect(await linked.page.locator('#state').innerText()).toBe('session over');
    expect(await linked.page.locator('#sweeps').innerText()).toBe(await page.locator('#sweeps').innerText());
    expect(await sameDesk.getByRole('row', { name: /^V/ }).innerText()).toBe(await row.innerText());
    expect(linked.problems).toEqual([]);
    await linked.page.context().close();

    await page.locator('.rail button', { hasText: 'Verdict' }).click();
    const verdict = page.locator('sweep-verdict section');
    expect(await verdict.getByRole('img').getAttribute('aria-label')).toMatch(
      /Lane A, Plain mean: claim is \d\.\d\d of/,
    );
    await verdict.getByRole('button', { name: 'Take the whole session apart' }).click();
    const total = verdict.getByRole('row', { name: /^Error of the average/ });
    await expect.poll(() => total.count(), { timeout: 60_000 }).toBe(1);
    expect((await total.innerText()).match(/[\d.]+ nV/g)).toEqual(
      await page.locator('sweep-lane #true').allInnerTexts(),
    );
    // A series: what the picture is laid against has its source in its text, model and literature apart.
    await page.locator('.rail button', { hasText: 'Series' }).click();
    const series = page.locator('sweep-series section');
    await series.getByLabel('Level').fill('80');
    await series.getByRole('button', { name: 'Run this level' }).click();
    const level = series.getByRole('row', { name: /^80/ });
    await expect.poll(() => level.count(), { timeout: 60_000 }).toBe(1);
    expect(await level.innerText()).toMatch(/5\.\d+ ±0\.\d+ ms/);
    const picture = await series.getByRole('img', { name: /^Wave V at 80 dB/ }).getAttribute('aria-label');
    expect(picture).toContain('Model, shaded: wave V of its normal ears');
    expect(picture).toContain('Published, dashed boxes: 5.6 ms ± 0.2 (1 SD) at 80 dB nHL (handbook consensus');
    await level.getByRole('combobox').selectOption('present');
    await expect.poll(() => series.innerText(), soon).toContain('Threshold at or below 80 dB nHL: go lower.');
    expect(problems).toEqual([]);
    await page.context().close();
  });
});
