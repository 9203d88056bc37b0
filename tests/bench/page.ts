/**
 * Measures how the page loads from a cold static server: weight after gzip, first paint, first sweep on the screen.
 *
 * Run with `npm run bench:page`. Ends with 1 if a budget is broken: 400 kB before lazy parts, 1.5 s to the first paint.
 */
import { mkdtemp, rm } from 'node:fs/promises';
import { cpus, tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'vite';
import { launchChromium } from '../browser/chromium.ts';
import { weighPage } from '../browser/pageWeight.ts';
import { serveFolder } from '../browser/staticServer.ts';

const WEIGHT_BUDGET_KB = 400;
const PAINT_BUDGET_MS = 1500;
const RUNS = 7;

const checkout = fileURLToPath(new URL('../..', import.meta.url));
const folder = await mkdtemp(join(tmpdir(), 'sweepwise-page-'));
await build({
  configFile: join(checkout, 'vite.config.ts'),
  logLevel: 'warn',
  build: { outDir: folder, emptyOutDir: true },
});
const weight = weighPage(folder);
console.log(`machine: ${cpus().length} × ${cpus()[0].model.trim()}, Chromium headless, software drawing\n`);
for (const { name, kb, isFirst } of [...weight.files].sort(
  (a, b) => Number(b.isFirst) - Number(a.isFirst) || b.kb - a.kb,
)) {
  console.log(`${kb.toFixed(1).padStart(7)} kB  ${isFirst ? 'first' : 'lazy '}  ${name}`);
}
console.log(`${weight.firstKb.toFixed(1).padStart(7)} kB  before lazy parts (budget ${WEIGHT_BUDGET_KB})`);
console.log(`${weight.allKb.toFixed(1).padStart(7)} kB  in all\n`);

const server = await serveFolder(folder, '/lab/');
const paintsMs: number[] = [];
const sweepsMs: number[] = [];
for (let run = 0; run < RUNS; run++) {
  const browser = await launchChromium(); // a new browser each time: nothing is kept from the run before
  const page = await browser.newPage();
  await page.goto(server.url, { waitUntil: 'commit' });
  await page.waitForFunction(
    () =>
      Number(
        document
          .querySelector('sweep-lab')
          ?.shadowRoot?.querySelector('sweep-drive')
          ?.shadowRoot?.querySelector('#sweeps')
          ?.textContent?.replace(/\s/g, ''),
      ) > 0,
    undefined,
    { polling: 10 },
  );
  const sweepMs = await page.evaluate(() => performance.now());
  // Chromium tells the first paint once the frame is on the screen: that may be a little later.
  const paintMs = await page.evaluate(
    () =>
      new Promise<number>((resolve) => {
        new PerformanceObserver((list) => {
          const entry = list.getEntriesByName('first-contentful-paint')[0];
          if (entry) resolve(entry.startTime);
        }).observe({ type: 'paint', buffered: true });
      }),
  );
  paintsMs.push(paintMs);
  sweepsMs.push(sweepMs);
  await browser.close();
}
await server.close();
await rm(folder, { recursive: true });

const told = (name: string, values: number[]) => {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted[Math.floor(sorted.length / 2)];
  const range = `${sorted[0].toFixed(0)} to ${sorted[sorted.length - 1].toFixed(0)}`;
  console.log(`${name}: median ${middle.toFixed(0)} ms of ${RUNS} cold starts (${range})`);
  return middle;
};
const paintMs = told(`first paint (budget ${PAINT_BUDGET_MS})`, paintsMs);
told('first sweep on the screen', sweepsMs);
if (!(weight.firstKb < WEIGHT_BUDGET_KB && paintMs < PAINT_BUDGET_MS)) {
  console.error('a budget is broken');
  process.exitCode = 1;
}
