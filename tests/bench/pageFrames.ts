/**
 * What a frame costs the page's main thread while six lanes race.
 *
 *     npm run bench:page
 *
 * Builds the site, serves it, opens it in Chromium with software drawing and reads the browser's own clocks of processor
 * time, so that other work on the machine does not count. Goal: < 4 ms of script a frame.
 */
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { build, preview } from 'vite';
import { launchChromium } from '../browser/chromium.ts';

const SECONDS = 10;
const LANES = ['plain-mean', 'threshold-rejection', 'block-weighting', 'kalman', 'pair-balanced', 'forgetting-average'];

async function main(): Promise<void> {
  const outDir = await mkdtemp(join(tmpdir(), 'sweepwise-page-'));
  const configFile = new URL('../../vite.config.ts', import.meta.url).pathname;
  await build({ configFile, logLevel: 'error', build: { outDir, emptyOutDir: true } });
  const site = await preview({
    configFile,
    logLevel: 'error',
    build: { outDir },
    preview: { host: '127.0.0.1', port: 0 },
  });
  const browser = await launchChromium();
  try {
    const page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
    const lanes = JSON.stringify(LANES.map((strategy) => ({ strategy })));
    const address = `${site.resolvedUrls?.local[0]}#scenario=jaw-clencher&seed=1&set=lanes=${encodeURIComponent(lanes)}`;
    await page.goto(address);
    await page.locator('sweep-lane').nth(5).waitFor();
    await page.waitForTimeout(2000);
    const client = await page.context().newCDPSession(page);
    await client.send('Performance.enable', { timeDomain: 'threadTicks' }); // processor time: others use this machine
    const metrics = async () => {
      const { metrics: list } = await client.send('Performance.getMetrics');
      return Object.fromEntries(list.map(({ name, value }) => [name, value]));
    };
    // As text: the runner marks functions with helpers that the page does not have.
    await page.evaluate(
      'frames = 0; requestAnimationFrame(function count() { frames++; requestAnimationFrame(count); })',
    );
    const before = await metrics();
    await page.waitForTimeout(1000 * SECONDS);
    const after = await metrics();
    const frames = Number(await page.evaluate('frames'));
    const perFrame = (name: string) => ((1000 * (after[name] - before[name])) / frames).toFixed(2);

    console.log(`frames a second            ${(frames / SECONDS).toFixed(1)}, six lanes, software drawing`);
    console.log(`script a frame             ${perFrame('ScriptDuration')} ms   (goal 4)`);
    console.log(`style and layout a frame   ${perFrame('RecalcStyleDuration')} + ${perFrame('LayoutDuration')} ms`);
    console.log(`whole task a frame         ${perFrame('TaskDuration')} ms`);
    console.log(`heap                       ${(after.JSHeapUsedSize / 1e6).toFixed(0)} MB`);
  } finally {
    await browser.close();
    await site.close();
    await rm(outDir, { recursive: true });
  }
}

await main();
