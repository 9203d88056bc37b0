import { readFileSync } from 'node:fs';
import axe from 'axe-core';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, inject, it } from 'vitest';
import { readDrillFile, verifyDrill } from '../../src/lessons/drills/drillFile.ts';
import { drill } from '../lessons/drills/drillFiles.ts';
import { launchChromium } from './chromium.ts';
import { openWatched } from './watchedPage.ts';

let browser: Browser;
beforeAll(async () => {
  browser = await launchChromium();
});
afterAll(() => browser?.close());

const soon = { timeout: 60_000 };

/** What axe-core objects to within the drills, as `rule: target`. */
async function objections(page: Page): Promise<string[]> {
  await page.evaluate(axe.source);
  return page.evaluate(async () => {
    const { axe: checker } = globalThis as unknown as { axe: typeof axe };
    const { violations } = await checker.run();
    const found = violations.flatMap(({ id, nodes }) => nodes.map(({ target }) => `${id}: ${target.join(' ')}`));
    return found.filter((objection) => objection.includes('sweep-drill')); // the rest is the page's own test
  });
}

describe('a drill on the page', () => {
  it('is done by keyboard to its mark, out of sight until then, kept, printed and saved', async () => {
    const { page, problems } = await openWatched(browser, inject('siteUrl'), { colorScheme: 'dark' });
    await page.getByRole('tab', { name: 'Drills' }).click();
    await expect.poll(() => page.locator('#drill-student-helps').isVisible(), soon).toBe(true);
    expect(await page.locator('sweep-drill-list li').count()).toBeGreaterThanOrEqual(30);
    await page.locator('#drill-learner').fill('Ada');
    await page.locator('#drill-learner').press('Tab');
    await page.locator('#drill-student-helps').press('Enter');

    // The troubled patient is on the bench; truth, settings and leads are out of sight.
    await expect
      .poll(() => page.locator('sweep-patient .story').innerText(), soon)
      .toContain('A student plugged the leads');
    expect(await page.locator('.seal').isDisabled()).toBe(true);
    await page.getByRole('button', { name: 'Leads', exact: true }).click();
    await expect.poll(() => page.locator('#riddle').isVisible(), soon).toBe(true);
    expect(await page.locator('sweep-rig').count()).toBe(0);
    await page.getByRole('button', { name: 'Race', exact: true }).click();

    // No remedy before a source; a first guess that is wrong, a remedy taken back, then the right ones.
    expect(await page.locator('#remedy-check-the-tube').isDisabled()).toBe(true);
    expect(await page.getByRole('timer').innerText()).toMatch(/^[45]:\d\d left$/);
    await page.getByLabel('No sound in the ear').press(' ');
    await page.locator('#name-source').press('Enter');
    await page.locator('#remedy-check-the-tube').press('Enter');
    expect(await page.getByRole('timer').innerText()).toMatch(/^4:[0-4]\d left$/); // 15 s of the patient's time
    expect(await objections(page)).toEqual([]);
    await page.locator('#drill-undo').press('Enter');
    await page.getByLabel('Two leads plugged in for each other').press(' ');
    await page.locator('#name-source').press('Enter');
    await page.locator('#remedy-plug-the-leads-right').press('Enter');
    await page.locator('#drill-finish').press('Enter');

    // 20 for the second guess, 30 mended, half of 20 for one remedy too many, 10 for time.
    const total = page.locator('#drill-total');
    await expect.poll(() => total.isVisible(), soon).toBe(true);
    expect(await total.innerText()).toBe('70 of 100');
    const lines = page.locator('sweep-drill-mark li');
    expect(await lines.count()).toBe(4);
    for (const line of await lines.allInnerTexts()) expect(line).toMatch(/model[\s\S]*\d[\s\S]*rule/);
    await expect.poll(() => page.locator('sweep-lane #true').count(), soon).toBe(4);
    expect(await objections(page)).toEqual([]);
    await page.setViewportSize({ width: 390, height: 844 });
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390);

    // The file says the same to the terminal's verifier.
    const [download] = await Promise.all([page.waitForEvent('download'), page.locator('#drill-save').click()]);
    const file = readDrillFile('a.json', readFileSync(await download.path(), 'utf8'));
    const verified = verifyDrill(drill('student-helps'), file);
    expect([verified.problems, verified.mark?.points, file.learner]).toEqual([[], 70, 'Ada']);

    // What is printed is the record, and nothing else of the page.
    await page.evaluate(() => {
      window.print = () => {
        const seen = (name: string) => (document.querySelector(name)?.getBoundingClientRect().height ?? 0) > 0;
        const text = document.querySelector('sweep-drill-record')?.shadowRoot?.textContent ?? '';
        document.body.dataset.printed = JSON.stringify({
          text: text.replace(/\s+/g, ' '),
          seen: ['sweep-drill-record', 'sweep-report', 'sweep-lab'].filter(seen),
        });
      };
    });
    await page.emulateMedia({ media: 'print' });
    await page.locator('#drill-print').dispatchEvent('click');
    await expect.poll(() => page.evaluate(() => document.body.dataset.printed ?? ''), soon).not.toBe('');
    const printed = JSON.parse(await page.evaluate(() => document.body.dataset.printed ?? ''));
    expect(printed.seen).toEqual(['sweep-drill-record']);
    expect(printed.text).toMatch(/Ada.*a student helps.*Two leads plugged in for each other.*2 taken, least 1.*70/);
    expect(await page.locator('sweep-drill-record').count()).toBe(0);
    await page.emulateMedia({ media: 'screen' });

    // It is there again after a reload, and the bench is free.
    await page.reload();
    await page.getByRole('tab', { name: 'Drills' }).click();
    await expect.poll(() => page.getByText('70 of 100').isVisible(), soon).toBe(true);
    expect(await page.locator('#patient').isDisabled()).toBe(false);
    expect(await objections(page)).toEqual([]);
    expect(problems).toEqual([]);
    await page.context().close();
  });
});
