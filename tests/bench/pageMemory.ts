/**
 * Whether the page's memory stays flat while half an hour is recorded with six lanes, and over many restarts and views.
 *
 *     npm run bench:page
 *
 * Page and worker together, arrays included, after forced garbage collection: Chromium measures that itself for a page
 * that no other origin shares. Ends with 1 if the memory grows by more than a tenth after its beginning.
 */
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { build } from 'vite';
import { launchChromium } from '../browser/chromium.ts';
import { serveFolder } from '../browser/staticServer.ts';

const SESSION_S = 1800;
const MEASURED_AT_S = [60, 450, 900, 1350, 1800];
const RESTARTS = 12;
const ROUNDS = 8; // through all views
const LARGEST_GROWTH = 0.1;
const LANES = ['plain-mean', 'threshold-rejection', 'block-weighting', 'kalman', 'pair-balanced', 'forgetting-average'];

const outDir = await mkdtemp(join(tmpdir(), 'sweepwise-page-'));
const configFile = new URL('../../vite.config.ts', import.meta.url).pathname;
await build({ configFile, logLevel: 'error', build: { outDir, emptyOutDir: true } });
const server = await serveFolder(outDir, '/lab/', {
  'Cross-Origin-Opener-Policy': 'same-origin',
  'Cross-Origin-Embedder-Policy': 'require-corp',
});
const browser = await launchChromium(['--enable-blink-features=ForceEagerMeasureMemory']);
try {
  const page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
  const lanes = encodeURIComponent(JSON.stringify(LANES.map((strategy) => ({ strategy }))));
  await page.goto(`${server.url}#scenario=jaw-clencher&seed=1&set=session.durationS=${SESSION_S}&set=lanes=${lanes}`);
  await page.locator('sweep-lane').nth(5).waitFor();

  // As text: the runner marks functions with helpers that the page does not have.
  const seconds = () => page.evaluate<number>("document.querySelector('sweep-lab').bench.record.seconds");
  const state = () => page.evaluate<string>("document.querySelector('sweep-lab').bench.state");
  const memoryMb = async () => {
    const memory = await page.evaluate<{ bytes: number }>('performance.measureUserAgentSpecificMemory()');
    return memory.bytes / 1e6;
  };

  const startedMs = performance.now();
  await page.selectOption('#speed', { label: 'as fast as it goes' });
  const measuredMb: number[] = [];
  for (const atS of MEASURED_AT_S) {
    while ((await seconds()) < atS - 1 && (await state()) === 'running') await page.waitForTimeout(50);
    measuredMb.push(await memoryMb());
    console.log(
      `${(await seconds()).toFixed(0).padStart(5)} s of the session   ${measuredMb.at(-1)?.toFixed(1)} MB, page and worker`,
    );
  }
  console.log(`recorded in ${((performance.now() - startedMs) / 1000).toFixed(0)} s; it ended as "${await state()}"`);

  const restartedMb: number[] = [];
  for (let k = 0; k < RESTARTS; k++) {
    await page.keyboard.press('r');
    await page.waitForTimeout(500);
    if (k === 1 || k === RESTARTS - 1) restartedMb.push(await memoryMb());
  }
  console.log(`after 2 and ${RESTARTS} restarts   ${restartedMb.map((mb) => mb.toFixed(1)).join(' and ')} MB`);

  const viewedMb: number[] = [];
  for (let k = 0; k < ROUNDS; k++) {
    for (let view = 1; view <= 7; view++) {
      await page.keyboard.press(String(view));
      await page.waitForTimeout(150);
    }
    await page.keyboard.press('1');
    if (k === 1 || k === ROUNDS - 1) viewedMb.push(await memoryMb());
  }
  console.log(
    `after 2 and ${ROUNDS} rounds through all views   ${viewedMb.map((mb) => mb.toFixed(1)).join(' and ')} MB`,
  );

  const pairs = [[measuredMb[1], measuredMb[4]], restartedMb, viewedMb];
  const growth = Math.max(...pairs.map(([earlier, later]) => later / earlier - 1));
  console.log(`growth ${(100 * growth).toFixed(1)} % (bound ${100 * LARGEST_GROWTH})`);
  if (!(growth < LARGEST_GROWTH)) {
    console.error('the memory is not flat');
    process.exitCode = 1;
  }
} finally {
  await browser.close();
  await server.close();
  await rm(outDir, { recursive: true });
}
