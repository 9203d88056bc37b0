import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, inject, it } from 'vitest';
import { resolveScenario } from '../../src/core/scenario/resolve.ts';
import { race } from '../../src/core/session/race.ts';
import type { Bench } from '../../src/web/model/bench.ts';
import { countText, voltageText } from '../../src/web/model/numberText.ts';
import { RunRecord } from '../../src/web/model/runRecord.ts';
import { readScenarioLink } from '../../src/web/model/scenarioLink.ts';
import { averageAxes } from '../../src/web/stage/averagePicture.ts';
import { ribbonAxes } from '../../src/web/stage/ribbonPicture.ts';
import { sweepBatcher } from '../../src/web/worker/sweepBatcher.ts';
import { launchChromium } from './chromium.ts';
import { openWatched } from './watchedPage.ts';

const link = 'scenario=jaw-clencher&seed=11&set=session.durationS=24';
const { document: scenarioDocument, seed } = readScenarioLink(link);
const scenario = resolveScenario(scenarioDocument);

/** The same run in Node, as the page keeps it. */
function recordInNode(): RunRecord {
  const record = new RunRecord(scenario);
  const batcher = sweepBatcher(1, scenario, seed);
  while (batcher.addSweep()) if (batcher.pendingCount() === 37) record.add(batcher.take());
  record.add(batcher.take());
  return record;
}

async function runToTheEnd(page: Page): Promise<void> {
  await page.selectOption('#speed', { label: 'as fast as it goes' });
  await page.getByText('session over', { exact: true }).waitFor({ timeout: 60_000 });
  await page.waitForTimeout(700); // the last redraw of numbers and pictures
}

describe('what the page shows', () => {
  let browser: Browser;
  let page: Page;
  let problems: string[];
  beforeAll(async () => {
    browser = await launchChromium();
    ({ page, problems } = await openWatched(browser, `${inject('siteUrl')}#${link}`, {
      viewport: { width: 1280, height: 800 },
    }));
    await runToTheEnd(page);
  });
  afterAll(() => browser?.close());

  it('agrees with the race in core: claims, true noise and sweeps used of all lanes', async () => {
    const racing = race(scenario, { seed, replicates: 1, targetNv: scenario.session.targetNv });
    let step = racing.next();
    while (!step.done) step = racing.next();
    const { lanes } = step.value;
    expect(await page.locator('sweep-lane #claim').allInnerTexts()).toEqual(
      lanes.map(({ ownNoiseNv }) => voltageText(ownNoiseNv / 1000)),
    );
    expect(await page.locator('sweep-lane #true').allInnerTexts()).toEqual(
      lanes.map(({ residualNoiseNv }) => voltageText(residualNoiseNv / 1000)),
    );
    const table = await page.locator('sweep-race details tbody tr').allTextContents();
    for (const [lane, { sweepsUsed }] of lanes.entries()) expect(table[lane]).toContain(countText(sweepsUsed));
    expect(problems).toEqual([]);
  });

  it('has the bits that Node has, whatever the size of its batches', async () => {
    const shown = await page
      .locator('sweep-lab')
      .evaluate((lab) =>
        (lab as unknown as { bench: Bench }).bench.record.lanes.map(({ reading, share, shareSum }) => [
          ...Object.values(reading),
          share.reduce((sum, value) => sum + value, 0),
          shareSum,
        ]),
      );
    const expected = recordInNode().lanes.map(({ reading, share, shareSum }) => [
      ...Object.values(reading),
      share.reduce((sum, value) => sum + value, 0),
      shareSum,
    ]);
    expect(shown).toEqual(expected);
  });

  it('draws every average where its numbers say, in the colour of its lane', async () => {
    const bench = { scenario, record: recordInNode(), truthSealed: false } as Bench;
    for (const lane of [1, 2, 3]) {
      const canvas = page.locator('sweep-lane').nth(lane).locator('.average canvas');
      const { width, height } = (await canvas.boundingBox()) as { width: number; height: number };
      const { timeMs, voltageUv } = averageAxes(bench, Math.round(width), Math.round(height), lane === 3);
      const { averageUv } = bench.record.lanes[lane];
      const points = [90, 130, 170, 200, 240, 280].map((i) => ({
        x: timeMs(timeMs.from) + ((timeMs(timeMs.to) - timeMs(timeMs.from)) * (i + 0.5)) / averageUv.length,
        y: voltageUv(averageUv[i]),
      }));
      const colour = `--lane-${'abcd'[lane]}`;
      expect(await inkAt(page, lane, '.average canvas', points, colour)).toEqual(points.map(() => true));
    }
  });

  it('draws the weight ribbon: full columns where the plain mean took a sweep, nothing above them', async () => {
    const bench = { scenario, record: recordInNode(), truthSealed: false } as Bench;
    const canvas = page.locator('sweep-lane').first().locator('.ribbon canvas');
    const { width, height } = (await canvas.boundingBox()) as { width: number; height: number };
    const { sweep, weight } = ribbonAxes(bench, Math.round(width), Math.round(height), 0);
    const points = [
      { x: sweep(100), y: weight(0.2) },
      { x: sweep(400), y: weight(0.2) },
      { x: sweep(400), y: weight(2.5) },
    ];
    expect(await inkAt(page, 0, '.ribbon canvas', points, '--lane-a')).toEqual([true, true, false]);
  });

  it('draws again after the graphics context was lost', async () => {
    const { page: lossy, problems: lossProblems } = await openWatchedWithContexts(browser);
    await runToTheEnd(lossy);
    const opaque = () => lossy.locator('sweep-race canvas').evaluate(countInk);
    const before = await opaque();
    expect(before).toBeGreaterThan(1000);
    await lossy.evaluate(async () => {
      const { contexts } = globalThis as unknown as { contexts: WebGL2RenderingContext[] };
      if (contexts.length === 0) throw new Error('no context was caught');
      for (const context of contexts) {
        const loss = context.getExtension('WEBGL_lose_context');
        loss?.loseContext();
        await new Promise((resolve) => setTimeout(resolve, 200));
        loss?.restoreContext();
      }
    });
    await lossy.waitForTimeout(500);
    await lossy.locator('sweep-race canvas').evaluate((canvas: HTMLCanvasElement) => {
      canvas.width = 0; // wiped: what comes next is drawn by the restored context
    });
    await lossy.keyboard.press('t');
    await lossy.keyboard.press('t');
    await expect.poll(opaque, { timeout: 20_000 }).toBeGreaterThan(0.9 * before);
    expect(lossProblems.filter((problem) => !problem.includes('CONTEXT_LOST'))).toEqual([]);
  });
});

/** Counts the pixels that hold any ink. */
function countInk(canvas: Element): number {
  const { width, height } = canvas as HTMLCanvasElement;
  if (width === 0) return 0;
  const data = (canvas as HTMLCanvasElement).getContext('2d')?.getImageData(0, 0, width, height).data ?? [];
  let count = 0;
  for (let i = 3; i < data.length; i += 4) if (data[i] > 0) count++;
  return count;
}

/** Whether a colour of the theme is found within a pixel and a half of each point of a lane's canvas. */
async function inkAt(page: Page, lane: number, selector: string, points: { x: number; y: number }[], colour: string) {
  const canvas = page.locator('sweep-lane').nth(lane).locator(selector);
  return canvas.evaluate(
    (element, [wanted, property]) => {
      const context = (element as HTMLCanvasElement).getContext('2d') as CanvasRenderingContext2D;
      const hex = getComputedStyle(element)
        .getPropertyValue(property as string)
        .trim();
      const rgb = [1, 3, 5].map((at) => Number.parseInt(hex.slice(at, at + 2), 16));
      return (wanted as { x: number; y: number }[]).map(({ x, y }) => {
        const { data } = context.getImageData(Math.round(x) - 2, Math.round(y) - 2, 4, 4);
        for (let i = 0; i < data.length; i += 4) {
          if (data[i + 3] > 180 && rgb.every((value, c) => Math.abs(value - data[i + c]) < 24)) return true;
        }
        return false;
      });
    },
    [points, colour] as const,
  );
}

/** Opens the page with every WebGL context within reach of the test. */
async function openWatchedWithContexts(browser: Browser) {
  const context = await browser.newContext();
  await context.addInitScript(() => {
    const contexts: unknown[] = [];
    Object.assign(globalThis, { contexts });
    for (const kind of [HTMLCanvasElement, OffscreenCanvas]) {
      const getContext = kind.prototype.getContext as (...args: unknown[]) => unknown;
      Object.assign(kind.prototype, {
        getContext(this: unknown, ...args: unknown[]) {
          const made = getContext.apply(this, args);
          if (args[0] === 'webgl2' && made && !contexts.includes(made)) contexts.push(made);
          return made;
        },
      });
    }
  });
  const page = await context.newPage();
  const problems: string[] = [];
  page.on('pageerror', (error) => problems.push(error.message));
  page.on('console', (message) => {
    if (message.type() === 'error') problems.push(message.text());
  });
  await page.goto(`${inject('siteUrl')}#${link}`);
  return { page, problems };
}
