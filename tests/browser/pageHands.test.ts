import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, inject, it } from 'vitest';
import { unwrapLink } from '../../src/web/model/linkEnvelope.ts';
import { launchChromium } from './chromium.ts';
import { openWatched } from './watchedPage.ts';

let browser: Browser;
beforeAll(async () => {
  browser = await launchChromium();
});
afterAll(() => browser?.close());

const soon = { timeout: 20_000 };
const sweepsShown = async (page: Page) => Number((await page.locator('#sweeps').innerText()).replace(/\s/g, ''));
/** What the link of the bench says. */
async function benchLinkOf(page: Page): Promise<string> {
  await page.getByRole('button', { name: 'Take away' }).click();
  await page.getByRole('button', { name: 'Copy bench link' }).click();
  await page.locator('sweep-take-away output').waitFor();
  await page.keyboard.press('Escape');
  return decodeURIComponent(await unwrapLink(new URL(page.url()).hash));
}

const quiet = '#scenario=quiet-sleeper&seed=3&set=session.durationS=40';

describe('hands on', () => {
  it('a clench by key enters the run as an event, the run goes on, the link has it, undoing takes it away', async () => {
    const { page, problems } = await openWatched(browser, `${inject('siteUrl')}${quiet}`);
    await expect.poll(() => sweepsShown(page), soon).toBeGreaterThan(60);
    await page.keyboard.press('c'); // closed: its keys do nothing
    await page.keyboard.press('.');
    expect(await page.locator('sweep-hands li').count()).toBe(0);
    const before = await sweepsShown(page);
    await page.keyboard.press('c');
    await expect.poll(() => page.locator('sweep-hands li').count(), soon).toBe(1);
    expect(await page.locator('sweep-hands [role=status]').innerText()).toContain('60 µV, for three seconds');
    await expect.poll(() => sweepsShown(page), soon).toBeGreaterThan(before + 40);
    await page.keyboard.press(' ');
    await page.waitForTimeout(300);
    const atS = Number(await page.locator('sweep-hands li input').inputValue());

    // The first sweep under the clench is loud, the one before it was not.
    const peaks: number[] = [];
    for (const offset of [-3, 20]) {
      const number = Math.round(27.7 * atS) + offset;
      await page.locator('#sweep').fill(String(number));
      await page.locator('#sweep').press('Enter');
      const words = page.locator('sweep-inspector .number').first();
      await expect.poll(() => words.innerText(), soon).toContain(`Sweep ${number} at`);
      const text = await words.innerText();
      peaks.push(Number(/largest sample ([\d.]+) µV/.exec(text)?.[1]));
    }
    expect(peaks[1]).toBeGreaterThan(4 * peaks[0]);

    expect(await benchLinkOf(page)).toMatch(/set=events=\[\{"atS":[\d.]+,.*"action":"clench"/);
    const shown = await sweepsShown(page);
    await page.getByRole('button', { name: /^Undo .Ask for a clench/ }).click();
    await expect.poll(() => page.locator('sweep-hands li').count(), soon).toBe(0);
    expect(await sweepsShown(page)).toBe(shown);
    expect(problems).toEqual([]);
    await page.context().close();
  });

  it('lanes are added, tuned and taken out, on the same sweeps, without going back to second 0', async () => {
    const { page, problems } = await openWatched(browser, `${inject('siteUrl')}${quiet}`);
    await expect.poll(() => sweepsShown(page), soon).toBeGreaterThan(60);
    await page.keyboard.press(' ');
    await page.waitForTimeout(300);
    const shown = await sweepsShown(page);
    const drawer = page.locator('sweep-lane-drawer');
    await drawer.locator('#add').selectOption({ label: 'Bayesian blocks' });
    await expect.poll(() => page.locator('sweep-lane').count(), soon).toBe(5);
    expect(await sweepsShown(page)).toBe(shown);
    await drawer.locator('summary').last().click();
    const length = drawer.locator('details').last().getByLabel('Block length', { exact: true });
    await length.fill('8');
    await length.press('Tab');
    await page.locator('#sweep').fill('3');
    await page.locator('#sweep').press('Tab');
    await expect
      .poll(() => page.locator('sweep-inspector li').allInnerTexts(), soon)
      .toEqual(expect.arrayContaining([expect.stringMatching(/^E[\s\S]*its block has/)]));
    expect(await benchLinkOf(page)).toMatch(/set=lanes=\[.*"strategy":"block-weighting",.*"blockLength":8/);
    await drawer.getByRole('button', { name: 'Take out lane E' }).click();
    await expect.poll(() => page.locator('sweep-lane').count(), soon).toBe(4);
    expect(await sweepsShown(page)).toBe(shown);
    expect(problems).toEqual([]);
    await page.context().close();
  });
});

describe('the same patient, once more', () => {
  it('shows before and after one change, with the difference, and asks what if', async () => {
    const link = '#scenario=jaw-clencher&seed=3&set=session.durationS=15&set=muscle.burstsPerS=1';
    const { page, problems } = await openWatched(browser, `${inject('siteUrl')}${link}`);
    await page.getByRole('button', { name: 'Compare', exact: true }).click();
    const compare = page.locator('sweep-compare section');
    await compare.getByRole('button', { name: 'without muscle bursts' }).click();
    expect(await compare.innerText()).toContain('One thing is different: without muscle bursts');
    await compare.getByRole('button', { name: 'Run both to the end' }).click();
    const rows = compare.locator('tbody tr');
    await expect.poll(() => rows.count(), { timeout: 60_000 }).toBe(4);
    const [before, after] = [...(await rows.first().innerText()).matchAll(/([\d.]+) nV|([\d.]+) µV/g)].map(
      ([, nv, uv]) => Number(nv ?? 1000 * Number(uv)),
    );
    expect(before).toBeGreaterThan(3 * after);
    expect(await compare.getByRole('img').getAttribute('aria-label')).toMatch(/Residual noise .* before, .* after/);

    // One key lays the split buffers over this trace, too.
    const drawn = () => compare.locator('canvas').evaluate((canvas) => (canvas as HTMLCanvasElement).toDataURL());
    await page.waitForTimeout(300);
    const plain = await drawn();
    await page.keyboard.press('/');
    await expect.poll(drawn, soon).not.toBe(plain);
    await page.keyboard.press('/');
    await expect.poll(drawn, soon).toBe(plain);

    await compare.locator('#keep').click();
    await page.locator('sweep-drawer [id="stimulus.ratePerS"]').fill('31');
    await page.locator('sweep-drawer [id="stimulus.ratePerS"]').press('Tab');
    await expect.poll(() => compare.innerText(), soon).toContain('stimulus.ratePerS 27.7 → 31');
    expect(problems).toEqual([]);
    await page.context().close();
  });
});
