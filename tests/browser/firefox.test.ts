import type { Browser, Page } from 'puppeteer-core';
import { afterAll, beforeAll, describe, expect, inject, it } from 'vitest';
import { resolveScenario } from '../../src/core/scenario/resolve.ts';
import { race } from '../../src/core/session/race.ts';
import { voltageText } from '../../src/web/model/numberText.ts';
import { readScenarioLink } from '../../src/web/model/scenarioLink.ts';
import { EVERYTHING, sessionDigest } from '../core/session/digest.ts';
import { firefoxPath, launchFirefox } from './firefox.ts';

const path = firefoxPath();
const soon = { timeout: 30_000 };

describe.skipIf(path === undefined)('Firefox', () => {
  let browser: Browser;
  beforeAll(async () => {
    browser = await launchFirefox(path as string);
  });
  afterAll(() => browser?.close());

  async function open(address: string): Promise<{ page: Page; problems: string[] }> {
    const page = await browser.newPage();
    await page.setViewport({ width: 1280, height: 800 });
    const problems: string[] = [];
    page.on('console', (message) => {
      if (message.type() === 'error') problems.push(`console: ${message.text()}`);
    });
    page.on('pageerror', (error) => problems.push(`error: ${(error as Error).message}`));
    page.on('requestfailed', (request) => problems.push(`request: ${request.url()}`));
    await page.goto(address, { waitUntil: 'load' });
    return { page, problems };
  }

  it('gives the bits that Node gives', async () => {
    const { page, problems } = await open(inject('sourceUrl'));
    const inBrowser = await page.evaluate(
      async (document, seed) => {
        const module = await importModule<typeof import('../core/session/digest.ts')>('/tests/core/session/digest.ts');
        return [1, 4096].map((block) => module.sessionDigest(document, seed, block));
      },
      EVERYTHING,
      '7',
    );
    const inNode = sessionDigest(EVERYTHING, '7');
    expect(inBrowser).toEqual([inNode, inNode]);
    expect(problems).toEqual([]);
  });

  it('starts, races with the seal on, unseals, and shows the numbers of the race in core', async () => {
    const link = 'scenario=jaw-clencher&seed=11&set=session.durationS=24';
    const { page, problems } = await open(`${inject('siteUrl')}#${link}&sealed=1`);
    const texts = (selector: string) =>
      page.$$eval(`>>> ${selector}`, (found) => found.map((element) => (element as HTMLElement).innerText));

    await expect.poll(() => texts('#state'), soon).toEqual(['running']);
    await page.select('>>> #speed', '');
    await expect.poll(() => texts('#state'), soon).toEqual(['session over']);
    await new Promise((resolve) => setTimeout(resolve, 700)); // the last redraw of numbers and pictures
    expect(await texts('sweep-lane >>> #true')).toEqual([]);
    await page.keyboard.press('t');
    await expect.poll(() => page.$$eval('>>> sweep-lane >>> #true', (found) => found.length), soon).toBe(4);

    const { document, seed } = readScenarioLink(link);
    const scenario = resolveScenario(document);
    const racing = race(scenario, { seed, replicates: 1, targetNv: scenario.session.targetNv });
    let step = racing.next();
    while (!step.done) step = racing.next();
    const { lanes } = step.value;
    expect(await texts('sweep-lane >>> #claim')).toEqual(lanes.map(({ ownNoiseNv }) => voltageText(ownNoiseNv / 1000)));
    expect(await texts('sweep-lane >>> #true')).toEqual(
      lanes.map(({ residualNoiseNv }) => voltageText(residualNoiseNv / 1000)),
    );

    const inked = await page.$$eval('>>> canvas', (canvases) =>
      (canvases as HTMLCanvasElement[])
        .filter(({ clientWidth, clientHeight }) => clientWidth > 0 && clientHeight > 0)
        .map((canvas) => {
          const pixels = canvas.getContext('2d')?.getImageData(0, 0, canvas.width, canvas.height).data ?? [];
          return pixels.some((value, k) => k % 4 === 3 && value > 0);
        }),
    );
    expect(inked.length).toBeGreaterThanOrEqual(10);
    expect(inked).not.toContain(false);
    expect(problems).toEqual([]);
  });
});
