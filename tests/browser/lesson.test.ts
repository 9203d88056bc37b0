import { readFileSync } from 'node:fs';
import axe from 'axe-core';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, inject, it } from 'vitest';
import { version } from '../../package.json';
import { readAttemptFile } from '../../src/lessons/attemptFile.ts';
import { verifyAttempt } from '../../src/lessons/verifyAttempt.ts';
import { lesson } from '../lessons/lessonFolders.ts';
import { launchChromium } from './chromium.ts';
import { openWatched } from './watchedPage.ts';

let browser: Browser;
beforeAll(async () => {
  browser = await launchChromium();
});
afterAll(() => browser?.close());

const soon = { timeout: 60_000 };
const slow = { timeout: 120_000 };

/** The steps of the attempts that the browser keeps so far. */
async function keptSteps(page: Page): Promise<string[]> {
  return page.evaluate(
    () =>
      new Promise<string[]>((resolve, reject) => {
        const opening = indexedDB.open('sweepwise-lessons');
        opening.onerror = () => reject(opening.error);
        opening.onsuccess = () => {
          const database = opening.result;
          const reading = database.transaction('attempts').objectStore('attempts').getAll();
          reading.onsuccess = () => {
            database.close();
            resolve(reading.result.map(({ step }: { step: string }) => step));
          };
          reading.onerror = () => reject(reading.error);
        };
      }),
  );
}

/** Ends the page's process, as a crash does: no handler of the page runs. */
async function crash(page: Page): Promise<void> {
  const session = await page.context().newCDPSession(page);
  const crashed = page.waitForEvent('crash');
  session.send('Page.crash').catch(() => {}); // it cannot answer any more
  await crashed;
  await page.close();
}

/** Saves the attempt and reads the file. */
async function saved(page: Page): Promise<string> {
  const [download] = await Promise.all([page.waitForEvent('download'), page.locator('#save-attempt').click()]);
  return readFileSync(await download.path(), 'utf8');
}

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

describe('the list of lessons', () => {
  it(
    'has a page for each bundle: its lessons in order, its minutes, how far one is and what is next',
    slow,
    async () => {
      const { page, problems } = await openWatched(browser, inject('siteUrl'));
      await page.getByRole('tab', { name: 'Lessons' }).click();
      await page.locator('#bundle-engineer').press('Enter');
      const list = page.locator('sweep-lesson-list');
      await expect.poll(() => list.locator('ol h3').allInnerTexts(), soon).toContain('Which beat to march to');
      const titles = await list.locator('ol h3').allInnerTexts();
      expect(titles.indexOf('Which beat to march to')).toBeLessThan(titles.indexOf('Moving target'));
      const status = await list.getByRole('status').innerText();
      expect(status).toMatch(/^0 of \d+ lessons marked, \d+ minutes in all\. Next: Which beat to march to\.$/);
      expect(await objections(page)).toEqual([]);
      await page.locator('#all-lessons').press('Enter');
      await expect.poll(() => page.locator('#bundle-in-service').isVisible(), soon).toBe(true);
      expect(problems).toEqual([]);
      await page.close();
    },
  );
});

describe('a lesson on the page', () => {
  it('is played from prediction to mark by keyboard and labels, sealed until a run has ended, crash and all', async () => {
    const watched = await openWatched(browser, inject('siteUrl'));
    let { page } = watched;
    const { problems } = watched;
    await openLesson(page, 'where-to-draw-the-line');
    await expect.poll(() => page.getByText('Tomas is 35').isVisible(), soon).toBe(true);
    await page.locator('#to-prediction').press('Enter');

    const order = ['±8 µV', '±20 µV', '±4 µV', '±50 µV', '±100 µV'];
    for (const [k, item] of order.entries()) {
      await page.getByLabel(`Place of ${item}, 1 is the lowest`).selectOption(String(k + 1));
    }
    await page.getByLabel(/^What share of the sweeps will pass/).fill('82');
    await page.getByLabel(/Shrink it/).press(' ');
    for (const field of await page.getByLabel(/^How sure, in percent/).all()) {
      await field.fill('90');
      await field.press('Tab');
    }
    expect(await objections(page)).toEqual([]);
    await page.locator('#lock').press('Enter');

    // The page dies without a word, once the lock is written: that takes a moment. What was predicted and locked is there again.
    await expect.poll(() => keptSteps(page), soon).toContain('bench');
    const context = page.context();
    await crash(page);
    page = await context.newPage();
    page.on('pageerror', (error) => problems.push(`after the crash: ${error.message}`));
    await page.goto(inject('siteUrl'), { waitUntil: 'load' });
    await openLesson(page, 'where-to-draw-the-line');

    // On the bench: the lesson's patient, only its control free, the truth out of reach.
    const story = page.locator('sweep-patient .story');
    await expect.poll(() => story.innerText(), soon).toContain('Tomas, 35');
    await expect.poll(() => page.locator('#patient').isDisabled(), soon).toBe(true);
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
    await page.getByText('Hints', { exact: true }).click();
    await page.locator('#hint-1').press('Enter');
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
    expect(await page.getByText('1 taken for 1 opened hints').isVisible()).toBe(true);
    expect(Number.parseInt(await total.innerText(), 10)).toBeGreaterThanOrEqual(80);
    // A number and a rule for every line, seconds for every strategy.
    const lines = page.locator('sweep-lesson-mark li');
    expect(await lines.count()).toBe(13);
    for (const line of await lines.allInnerTexts()) expect(line).toMatch(/model[\s\S]*\d[\s\S]*rule/);
    expect(await page.locator('sweep-lesson-mark tbody tr').count()).toBe(4);
    expect(await objections(page)).toEqual([]);

    // The file says the same to the terminal's verifier, and this page opens it again only unaltered.
    expect(await page.locator('#learner').isDisabled()).toBe(true);
    const file = await saved(page);
    const verified = verifyAttempt(lesson('where-to-draw-the-line'), readAttemptFile('a.json', file), version);
    expect(verified.problems).toEqual([]);
    expect(`${verified.mark?.points} of 100`).toBe(await total.innerText());
    const altered = JSON.parse(file);
    altered.score.points = 100;
    await page.locator('#attempt-file').setInputFiles({
      name: 'altered.json',
      mimeType: 'application/json',
      buffer: Buffer.from(JSON.stringify(altered)),
    });
    await expect.poll(() => page.locator('#verdict').innerText(), slow).toContain('not what it claims');

    await page.setViewportSize({ width: 390, height: 844 });
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390);

    const before = await total.innerText();
    await page.reload();
    await openLesson(page, 'where-to-draw-the-line');
    await expect.poll(() => total.innerText(), soon).toBe(before);
    expect(problems).toEqual([]);
    await page.context().close();
  });

  it('goes on where the browser keeps nothing, says so, and can still be saved and opened', async () => {
    const { page, problems } = await openWatched(browser, inject('siteUrl'));
    await page.addInitScript(() => {
      IDBFactory.prototype.open = () => {
        throw new DOMException('storage is blocked', 'SecurityError');
      };
    });
    await page.reload();
    await openLesson(page, 'quieter-by-the-root');
    await page.locator('#to-prediction').click();
    await page
      .getByLabel(/need for 80 nV/)
      .first()
      .fill('480');
    await page
      .getByLabel(/need for 80 nV/)
      .first()
      .press('Tab');
    await expect
      .poll(() => page.getByRole('alert').innerText(), soon)
      .toMatch(/does not keep your attempt.*storage is blocked/);
    await page.locator('#learner').fill('Ada');
    await page.locator('#learner').press('Tab');
    const file = await saved(page);
    expect(JSON.parse(file)).toMatchObject({ learner: 'Ada', answers: { 'sweeps-80': 480 }, score: null });

    await page.reload();
    await openLesson(page, 'quieter-by-the-root');
    await page
      .locator('#attempt-file')
      .setInputFiles({ name: 'a.json', mimeType: 'application/json', buffer: Buffer.from(file) });
    await expect.poll(() => page.locator('#verdict').innerText(), soon).toContain('Good: it replays');
    await page.locator('#to-prediction').click();
    expect(
      await page
        .getByLabel(/need for 80 nV/)
        .first()
        .inputValue(),
    ).toBe('480');
    // A reload aborts what the page was still loading.
    expect(problems.filter((problem) => !problem.includes('ERR_ABORTED'))).toEqual([]);
    await page.context().close();
  });
});
