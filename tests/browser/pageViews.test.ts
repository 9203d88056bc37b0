import axe from 'axe-core';
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
const link = '#scenario=quiet-sleeper&seed=3&set=session.durationS=12';

/** What axe-core objects to, as `rule: target`. */
async function objections(page: Page): Promise<string[]> {
  await page.evaluate(axe.source);
  const results = await page.evaluate(async () => (globalThis as unknown as { axe: typeof axe }).axe.run());
  return results.violations.flatMap(({ id, nodes }) => nodes.map(({ target }) => `${id}: ${target.flat().join(' ')}`));
}

async function openFinished(colorScheme: 'light' | 'dark', width = 1280): Promise<{ page: Page; problems: string[] }> {
  const options = { colorScheme, viewport: { width, height: 800 } };
  const opened = await openWatched(browser, `${inject('siteUrl')}${link}`, options);
  await opened.page.selectOption('#speed', { label: 'as fast as it goes' });
  await opened.page.getByText('session over', { exact: true }).waitFor({ timeout: 60_000 });
  return opened;
}

describe('the views of the rail', () => {
  it.each(['light', 'dark'] as const)('axe-core finds nothing to object to in any of them, %s', async (scheme) => {
    const { page, problems } = await openFinished(scheme);
    await page.keyboard.press('.'); // hands on, too
    const names = await page.locator('.rail button').allInnerTexts();
    expect(names.length).toBeGreaterThanOrEqual(6);
    const found: string[] = [];
    for (const name of names) {
      await page.locator('.rail button', { hasText: name }).click();
      if (name === 'Read') await page.getByRole('button', { name: 'By the rule' }).click();
      await page.waitForTimeout(150);
      found.push(...(await objections(page)).map((objection) => `${name}: ${objection}`));
    }
    expect(found).toEqual([]);
    expect(problems).toEqual([]);
    await page.context().close();
  });

  // 320 px is a 1280 px window at 400 %: WCAG 2.2, 1.4.10 Reflow.
  it.each([320, 390])('none of them needs sideways scrolling at %i px', async (width) => {
    const { page, problems } = await openFinished('light', width);
    await page.keyboard.press('.');
    for (const button of await page.locator('.rail button').all()) {
      await button.click();
      await page.waitForTimeout(100);
      const name = await button.innerText();
      expect(await page.evaluate(() => document.documentElement.scrollWidth), name).toBeLessThanOrEqual(width);
    }
    expect(problems).toEqual([]);
    await page.context().close();
  });
});

describe('electrodes and leads', () => {
  it('a larger loop, by keyboard, lets more of the field in; a first stage at the head keeps it out', async () => {
    const { page, problems } = await openFinished('light');
    await page.locator('.rail button', { hasText: 'Leads' }).click();
    const rig = page.locator('sweep-rig section').first();
    await rig.getByRole('button', { name: 'Surgery' }).click();
    const loop = rig.getByRole('row', { name: /^Magnetic field through the loop/ });
    await expect.poll(() => loop.innerText(), soon).toContain('7.54 µV');
    await rig.getByRole('slider', { name: 'Loop between the leads' }).focus();
    for (let k = 0; k < 4; k++) await page.keyboard.press('ArrowDown');
    await expect.poll(() => loop.innerText(), soon).toMatch(/18\.\d µV/); // 0.05 m² per metre × 1.25⁴ = 0.12
    await rig.getByLabel('first stage at the head').check();
    await expect.poll(() => loop.innerText(), soon).toMatch(/9\d\d nV/); // a twentieth

    // The box is dragged away: longer leads, more hum, while the hand still holds it.
    const hum = rig.getByRole('row', { name: /^Together/ });
    const drag = async (id: string, byX: number, byY: number, held = async () => {}) => {
      const grip = await rig.locator(`#${id} > :first-child`).boundingBox();
      if (!grip) throw new Error(`drag: must be on the page, got no ${id}`);
      const [x, y] = [grip.x + grip.width / 2, grip.y + grip.height / 2];
      await page.mouse.move(x, y);
      await page.mouse.down();
      await page.mouse.move(x + byX, y + byY, { steps: 3 });
      await held();
      await page.mouse.up();
    };
    const before = await hum.innerText();
    await drag('box', 45, 0, async () => {
      expect(await rig.locator('[id="leads.lengthM"]').inputValue()).toBe('1.2');
      expect(await hum.innerText()).not.toBe(before);
    });
    await expect
      .poll(async () => Number(await rig.locator('[id="leads.lengthM"]').inputValue()), soon)
      .toBeGreaterThan(2);
    expect(await rig.getByRole('status').innerText()).toMatch(/^Leads [\d.]+ m\. Hum [\d.]+ [nµ]V, was/);

    // To the ear canal, with the foil that is used there; off the head and on again by key; and all the way back.
    await drag('ipsilateral', -34, -24);
    await expect.poll(() => rig.getByRole('status').innerText(), soon).toContain('Electrodes at ear canal');
    expect(await rig.getByText('Imbalance of the pair').innerText()).toContain('11.0 kΩ');
    await page.keyboard.press('Delete');
    await expect.poll(() => rig.getByRole('button', { name: 'Test side off' }).count(), soon).toBe(1);
    const link = async () => {
      await page.getByRole('button', { name: 'Take away' }).click();
      await page.getByRole('button', { name: 'Copy bench link' }).click();
      await expect.poll(() => page.locator('sweep-take-away output').count(), soon).toBe(1);
      const text = await page.locator('sweep-take-away output').innerText();
      await page.getByRole('button', { name: 'Close' }).click();
      return decodeURIComponent(await unwrapLink(new URL(text).hash));
    };
    expect(await link()).toMatch(/set=montage\.site="canal".*set=leads\.lengthM=[\d.]+/);
    for (let k = 0; k < 7; k++) await rig.getByRole('button', { name: 'Undo the last move' }).click();
    await expect.poll(() => rig.locator('[id="leads.lengthM"]').inputValue(), soon).toBe('1.2');
    expect(await rig.locator('#undo').count()).toBe(0);
    expect(await loop.innerText()).toMatch(/377 nV/); // what was moved is back; the first stage was set by its box

    // Another patient's electrodes are not brought back by undoing.
    await rig.getByRole('slider', { name: 'Length of the leads' }).focus();
    await page.keyboard.press('ArrowRight');
    await expect.poll(() => rig.locator('#undo').count(), soon).toBe(1);
    await page.locator('#patient').selectOption('jaw-clencher');
    await expect.poll(() => rig.locator('#undo').count(), soon).toBe(0);
    expect(problems).toEqual([]);
    await page.context().close();
  });
});

describe('when the machine lets the page down', () => {
  it('a lost WebGL context leaves the pictures, and all is drawn anew once it is back', async () => {
    const context = await browser.newContext({ colorScheme: 'light', viewport: { width: 1280, height: 800 } });
    const page = await context.newPage();
    await page.addInitScript(() => {
      const contexts: WebGL2RenderingContext[] = [];
      Object.assign(globalThis, { contexts });
      const { getContext } = HTMLCanvasElement.prototype;
      HTMLCanvasElement.prototype.getContext = function (this: HTMLCanvasElement, ...args: unknown[]) {
        const made = (getContext as (...given: unknown[]) => unknown).apply(this, args);
        if (made instanceof WebGL2RenderingContext && !contexts.includes(made)) contexts.push(made);
        return made;
      } as typeof getContext;
    });
    await page.goto(`${inject('siteUrl')}${link}`);
    await expect.poll(() => page.locator('#sweeps').innerText(), soon).not.toBe('0');
    await page.waitForTimeout(1000);
    const inked = () =>
      page.locator('sweep-race canvas').evaluate((canvas) => {
        const { width, height } = canvas as HTMLCanvasElement;
        const data = (canvas as HTMLCanvasElement).getContext('2d')?.getImageData(0, 0, width, height).data ?? [];
        let count = 0;
        for (let k = 3; k < data.length; k += 4) if (data[k] > 0) count++;
        return count;
      });
    expect(await inked()).toBeGreaterThan(1000);
    const lost = await page.evaluate(() => {
      let lostCount = 0;
      const { contexts } = globalThis as unknown as { contexts: WebGL2RenderingContext[] };
      for (const one of contexts) {
        const extension = one.getExtension('WEBGL_lose_context');
        if (!extension) continue;
        extension.loseContext();
        setTimeout(() => extension.restoreContext(), 1500);
        if (one.isContextLost()) lostCount++;
      }
      return lostCount;
    });
    expect(lost).toBe(1);
    await page.waitForTimeout(700);
    expect(await inked()).toBeGreaterThan(1000);
    await page.waitForTimeout(2000);
    await page.emulateMedia({ colorScheme: 'dark' }); // the palette changes: what is drawn now is drawn after the loss
    await page.waitForTimeout(700);
    expect(await inked()).toBeGreaterThan(1000);
    const light = await page.locator('sweep-race canvas').evaluate((canvas) => {
      const { width, height } = canvas as HTMLCanvasElement;
      const data = (canvas as HTMLCanvasElement).getContext('2d')?.getImageData(0, 0, width, height).data ?? [];
      let brightest = 0;
      for (let k = 0; k < data.length; k += 4) if (data[k + 3] > 200) brightest = Math.max(brightest, data[k]);
      return brightest;
    });
    expect(light).toBeGreaterThan(200); // lane A is pale on dark paper, and nearly black on light
    await context.close();
  });
});
