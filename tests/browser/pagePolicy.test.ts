import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, inject, it } from 'vitest';
import { launchChromium } from './chromium.ts';
import { weighPage } from './pageWeight.ts';
import { type StaticServer, serveFolder } from './staticServer.ts';
import { openWatched } from './watchedPage.ts';

const soon = { timeout: 30_000 };
const short = '#scenario=jaw-clencher&seed=3&set=session.durationS=6';

let browser: Browser;
let server: StaticServer;
beforeAll(async () => {
  browser = await launchChromium();
});
afterAll(() => browser?.close());
beforeEach(async () => {
  server = await serveFolder(inject('siteFolder'), '/some/where/lab/');
});
afterEach(() => server.close());

/** Runs the bench to its end, races replicates in their worker, writes a recording, reads one: all that loads late. */
async function useEverything(page: Page): Promise<void> {
  await page.locator('#speed').selectOption('');
  await expect.poll(() => page.locator('#state').innerText(), soon).toBe('session over');
  await page.getByRole('button', { name: 'Expected over 12 patients' }).click();
  await page.getByText('Expected (95 %)').waitFor(soon);

  await page.getByRole('button', { name: 'Take away' }).click();
  const coming = page.waitForEvent('download');
  await page.getByRole('button', { name: 'Save recording' }).click();
  const recording = await (await coming).path();
  const picture = page.waitForEvent('download');
  await page.getByRole('button', { name: 'PNG', exact: true }).click();
  await picture;
  await page.keyboard.press('Escape');

  await page.locator('sweep-recording input[type=file]').setInputFiles({
    name: 'own.edf',
    mimeType: 'application/octet-stream',
    buffer: readFileSync(recording),
  });
  await page.getByRole('tab', { name: 'Own recording' }).click();
  await page.getByText('The truth is not known here').waitFor(soon);
  await page.locator('sweep-drawer input[type=file]').setInputFiles({
    name: 'own.yaml',
    mimeType: 'text/yaml',
    buffer: Buffer.from('id: mine\ntitle: Own one\nsession:\n  durationS: 5\n'),
  });
  await expect.poll(() => page.locator('#patient').innerText(), soon).toContain('Own one');
}

describe('the built folder on any static server', () => {
  it('keeps its strict policy in everything it does, below any path, asking nobody else', async () => {
    const { page, problems } = await openWatched(browser, `${server.url}${short}`, { acceptDownloads: true });
    const requests: string[] = [];
    page.context().on('request', (request) => requests.push(request.url()));
    const policy = await page.locator('meta[http-equiv="Content-Security-Policy"]').getAttribute('content');
    expect(policy).toContain("default-src 'none'");
    expect(policy).toContain("script-src 'self'");
    expect(policy).not.toContain('unsafe-eval');
    const evaluated = await page.evaluate(() => {
      const broken: string[] = [];
      document.addEventListener('securitypolicyviolation', ({ violatedDirective }) => broken.push(violatedDirective));
      (globalThis as unknown as { broken: string[] }).broken = broken;
      const script = document.createElement('script');
      script.textContent = 'globalThis.inlineRan = true';
      document.head.append(script);
      return 'inlineRan' in globalThis;
    });
    expect(evaluated).toBe(false);
    await expect
      .poll(() => page.evaluate(() => (globalThis as unknown as { broken: string[] }).broken))
      .toHaveLength(1);
    expect(problems.splice(0)).toHaveLength(1); // the script that was just tried, told in the console

    await useEverything(page);
    expect(await page.evaluate(() => (globalThis as unknown as { broken: string[] }).broken)).toHaveLength(1);
    expect(requests.filter((url) => /^https?:/.test(url) && !url.startsWith(server.url))).toEqual([]);
    expect(problems).toEqual([]);
    await page.context().close();
  });

  it('opens and does everything without a network once it has been there', async () => {
    const { page, problems } = await openWatched(browser, `${server.url}${short}`, { acceptDownloads: true });
    await page.evaluate(() => navigator.serviceWorker.ready);
    await page.waitForFunction(() => navigator.serviceWorker.controller !== null);
    await server.close(); // the whole server is gone
    await page.context().setOffline(true);
    await page.reload({ waitUntil: 'load' });
    await useEverything(page);
    expect(problems).toEqual([]);
    await page.context().close();
    server = await serveFolder(inject('siteFolder'), '/');
  });

  it('has no address of another host in what it would load', () => {
    const page = readFileSync(join(inject('siteFolder'), 'index.html'), 'utf8');
    for (const [, address] of page.matchAll(/(?:src|href)="([^"]*)"/g)) expect(address).toMatch(/^(\.\/|data:)/);
  });

  it('weighs less than 400 kB before its lazy parts', () => {
    const { firstKb, files } = weighPage(inject('siteFolder'));
    expect(files.filter(({ isFirst }) => isFirst).length).toBeGreaterThan(3);
    expect(firstKb).toBeGreaterThan(150); // a walk that missed the scripts would find next to nothing
    expect(firstKb).toBeLessThan(400);
  });
});
