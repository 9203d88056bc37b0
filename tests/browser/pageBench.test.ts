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

/** The number of sweeps on the clock; its thousands are parted by thin spaces. */
const sweepsShown = async (page: Page) => Number((await page.locator('#sweeps').innerText()).replace(/\s/g, ''));

describe('the bench on the page', () => {
  it('starts by itself: within ten seconds four lanes race on the default patient', async () => {
    const { page, problems } = await openWatched(browser, inject('siteUrl'));
    await expect.poll(() => sweepsShown(page), { timeout: 10_000 }).toBeGreaterThan(50);
    expect(await page.locator('sweep-lane').count()).toBe(4);
    expect(await page.locator('#state').innerText()).toBe('running');
    await expect.poll(() => page.locator('sweep-lane #claim').allInnerTexts(), soon).not.toContain('–');
    expect(problems).toEqual([]);
    await page.context().close();
  });

  it('pauses, goes on, steps and restarts by keyboard, but not while a field has the focus', async () => {
    const { page, problems } = await openWatched(browser, inject('siteUrl'));
    await expect.poll(() => sweepsShown(page), soon).toBeGreaterThan(0);
    await page.keyboard.press(' ');
    await expect.poll(() => page.locator('#state').innerText(), soon).toBe('paused');
    await page.waitForTimeout(300); // batches on their way
    const paused = await sweepsShown(page);
    await page.keyboard.press('n');
    await expect.poll(() => sweepsShown(page), soon).toBe(paused + 1);

    await page.locator('#seed').focus();
    await page.keyboard.press('n');
    await page.waitForTimeout(300);
    expect(await sweepsShown(page)).toBe(paused + 1);

    await page.locator('h1').click();
    await page.locator('#seed').evaluate((field: HTMLElement) => field.blur());
    await page.keyboard.press('r');
    await expect.poll(() => page.locator('#state').innerText(), soon).toBe('running');
    await expect.poll(() => sweepsShown(page), soon).toBeGreaterThan(0);
    expect(problems).toEqual([]);
    await page.context().close();
  });

  it('seals and shows the truth: sealed, only claims are told', async () => {
    const { page, problems } = await openWatched(browser, inject('siteUrl'));
    const race = page.locator('sweep-race [role=img]');
    await expect.poll(() => sweepsShown(page), soon).toBeGreaterThan(50);
    expect(await page.locator('sweep-lane #true').count()).toBe(4);
    expect(await race.getAttribute('aria-label')).toContain('gain');

    await page.keyboard.press('t');
    await expect.poll(() => page.locator('sweep-lane #true').count(), soon).toBe(0);
    expect(await race.getAttribute('aria-label')).not.toMatch(/\bgain|residual/i);
    expect(await page.getByRole('button', { name: /^Expected over/ }).isDisabled()).toBe(true);

    await page.getByRole('button', { name: 'Unseal the truth' }).click();
    await expect.poll(() => page.locator('sweep-lane #true').count(), soon).toBe(4);
    expect(problems).toEqual([]);
    await page.context().close();
  });

  it('restarts the same patient when a setting changes, and keeps the last good one when it is refused', async () => {
    const { page, problems } = await openWatched(browser, `${inject('siteUrl')}#scenario=quiet-sleeper&seed=5`);
    await expect.poll(() => sweepsShown(page), soon).toBeGreaterThan(300);
    const rate = page.locator('sweep-drawer [id="stimulus.ratePerS"]');
    await rate.fill('31');
    await rate.press('Tab');
    await expect.poll(() => page.locator('sweep-drive dd').last().innerText(), soon).toBe('31/s');
    expect(await sweepsShown(page)).toBeLessThan(300);
    expect(await page.locator('#seed').inputValue()).toBe('5');

    await rate.fill('80'); // 12.5 ms between stimuli, and the window is 15 ms
    await rate.press('Tab');
    const refusal = page.locator('sweep-drawer [role=alert]');
    await expect.poll(() => refusal.innerText(), soon).toContain('window.postMs: must fit the interval at 80/s');
    expect(await page.locator('sweep-drive dd').last().innerText()).toBe('31/s');
    await rate.fill('29.3');
    await rate.press('Tab');
    await expect.poll(() => refusal.count(), soon).toBe(0);

    // Contacts, leads and room are folded away, and set like everything else.
    await page.locator('sweep-drawer summary', { hasText: 'Contacts and leads' }).click();
    await page.locator('sweep-drawer summary', { hasText: 'Room' }).click();
    await page.locator('sweep-drawer [id="electrodes.ipsilateral.contactFactor"]').fill('10');
    const field = page.locator('sweep-drawer [id="room.fieldUt"]');
    await field.fill('1');
    await field.press('Tab');
    const usual = (path: string) => page.locator(`sweep-drawer label[for="${path}"] .standard`).innerText();
    await expect.poll(() => usual('room.fieldUt'), soon).toBe('usual 0'); // the bench took it: it is marked as changed
    await expect.poll(() => usual('electrodes.ipsilateral.contactFactor'), soon).toBe('usual 1');
    expect(await refusal.count()).toBe(0);
    expect(problems).toEqual([]);
    await page.context().close();
  });

  it('tells a sweep in words: each lane gives its own reason', async () => {
    const { page, problems } = await openWatched(browser, inject('siteUrl'));
    await expect.poll(() => sweepsShown(page), soon).toBeGreaterThan(300);
    await page.keyboard.press(' ');
    await page.keyboard.press('Home');
    await page.keyboard.press('ArrowRight');
    await expect.poll(() => page.locator('#sweep').inputValue(), soon).toBe('2');
    const reasons = await page.locator('sweep-inspector li').allInnerTexts();
    expect(reasons[0]).toContain('Counted like every other sweep');
    expect(reasons[1]).toContain('under the limit of 20 µV');
    expect(reasons[2]).toMatch(/its block has .* µV rms of noise per sweep/);
    expect(reasons[3]).toContain('Moved the estimate by');

    // The duel of two lanes names the sweeps on which they disagree, and each is a click away.
    await page.getByRole('button', { name: 'Duel', exact: true }).click();
    const duel = page.locator('sweep-duel section');
    await duel.locator('#second').selectOption('1');
    await expect
      .poll(() => duel.getByRole('status').innerText(), soon)
      .toMatch(/^(B|A) has|^Neck[\s\S]*They differ by \d+ nV rms/);
    const [first] = await duel.locator('ol button').all();
    expect(await first.innerText()).toMatch(/^Sweep\s+\d+ · ×1\.\d\d : ×0\.00$/); // B has left out what A took in
    await first.click();
    await expect.poll(() => duel.locator('.poured li').last().innerText(), soon).toMatch(/limit of 20 µV/);
    expect(problems).toEqual([]);
    await page.context().close();
  });

  it('races twelve patients for the expected values', async () => {
    const link = '#scenario=quiet-sleeper&seed=2&set=session.durationS=20&set=session.targetNv=120';
    const { page, problems } = await openWatched(browser, `${inject('siteUrl')}${link}`);
    await page.getByRole('button', { name: /^Expected over 12/ }).click();
    const rows = page.getByRole('table', { name: /^Expected over/ }).locator('tbody tr');
    await expect.poll(() => rows.count(), { timeout: 60_000 }).toBe(4);
    for (const row of await rows.allInnerTexts()) expect(row).toMatch(/\d+(\.\d)? s \d+–\d+/);
    expect(problems).toEqual([]);
    await page.context().close();
  });

  it('says so when the simulation cannot start, and starts it again on demand', async () => {
    const context = await browser.newContext();
    const page = await context.newPage();
    await page.route('**/bench.worker*', (route) => route.abort());
    await page.goto(inject('siteUrl'));
    await expect.poll(() => page.locator('#state').innerText(), soon).toBe('stopped by a fault');
    await page.unroute('**/bench.worker*');
    await page.getByRole('button', { name: 'Run again' }).click();
    await expect.poll(() => sweepsShown(page), soon).toBeGreaterThan(0);
    await context.close();
  });

  it('a worker that dies in the middle is told and replaced: the run goes on, with the same bits in the end', async () => {
    const link = '#scenario=jaw-clencher&seed=5&set=session.durationS=60';
    const claimsOf = async (page: Page) => {
      await page.selectOption('#speed', { label: 'as fast as it goes' });
      await expect.poll(() => page.locator('#state').innerText(), { timeout: 60_000 }).toBe('session over');
      await page.waitForTimeout(500);
      return page.locator('sweep-lane #claim').allInnerTexts();
    };
    const { page: calm } = await openWatched(browser, `${inject('siteUrl')}${link}`);
    const expected = await claimsOf(calm);
    await calm.context().close();

    const context = await browser.newContext();
    const page = await context.newPage();
    await page.goto(`${inject('siteUrl')}${link}`);
    await expect.poll(() => sweepsShown(page), soon).toBeGreaterThan(100);
    const dying = page.workers().find((worker) => worker.url().includes('bench.worker'));
    await dying?.evaluate(() => {
      setTimeout(() => {
        throw new Error('out of memory');
      });
    });
    await expect
      .poll(() => page.locator('sweep-drive [role=status]').innerText(), soon)
      .toMatch(/out of memory.*goes on/);
    expect(await sweepsShown(page)).toBeGreaterThan(100);
    expect(await claimsOf(page)).toEqual(expected);
    await context.close();
  });
});
