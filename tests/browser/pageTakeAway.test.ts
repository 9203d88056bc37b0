import { spawnSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import axe from 'axe-core';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, inject, it } from 'vitest';
import { preset } from '../../src/core/scenario/presets.ts';
import { resolveScenario, withOverrides } from '../../src/core/scenario/resolve.ts';
import { startSession } from '../../src/core/session/session.ts';
import { readRecording, selectEvents } from '../../src/formats/index.ts';
import { firstOnPath, installPackages } from '../debianPackages.ts';
import { needOutsideReaders, readWithEdflib, withFiles } from '../formats/outsideReaders.ts';
import { launchChromium } from './chromium.ts';
import { openWatched } from './watchedPage.ts';

const soon = { timeout: 30_000 };
const short = '#scenario=jaw-clencher&seed=9&set=session.durationS=8&set=stimulus.ratePerS=31.1';

let browser: Browser;
beforeAll(async () => {
  needOutsideReaders();
  if (!firstOnPath(['pdftotext']) || !firstOnPath(['pdftoppm'])) {
    installPackages(
      ['poppler-utils'],
      'The test of the printed report reads its PDF with poppler and this machine lacks it',
      'install the package "poppler-utils" (Debian)',
    );
  }
  browser = await launchChromium();
}, 300_000);
afterAll(() => browser?.close());

/** Opens the lab and lets its short session run to the end. */
async function openFinished(link = short, options = {}): Promise<{ page: Page; problems: string[] }> {
  const opened = await openWatched(browser, `${inject('siteUrl')}${link}`, { acceptDownloads: true, ...options });
  await opened.page.locator('#speed').selectOption('');
  await expect.poll(() => opened.page.locator('#state').innerText(), soon).toBe('session over');
  return opened;
}

/** Presses a button of the menu and reads the file that it saves. */
async function saved(page: Page, button: string): Promise<{ name: string; bytes: Buffer }> {
  const coming = page.waitForEvent('download');
  await page.locator('sweep-take-away').getByRole('button', { name: button, exact: true }).click();
  const download = await coming;
  return { name: download.suggestedFilename(), bytes: readFileSync(await download.path()) };
}

async function openMenu(page: Page): Promise<void> {
  await page.getByRole('button', { name: 'Take away' }).click();
  await page.getByRole('dialog', { name: 'Take away' }).waitFor();
}

describe('the take-away menu', () => {
  it('gives any picture as SVG and PNG, not blank, with labels and where it comes from', async () => {
    const { page, problems } = await openFinished();
    await openMenu(page);
    const menu = page.locator('sweep-take-away');
    const titles = await menu.locator('#picture option').allInnerTexts();
    expect(titles.filter((title) => title.startsWith('Average of lane'))).toHaveLength(4);
    for (const [k, title] of titles.entries()) {
      if (/lane [BC]/.test(title)) continue; // Chromium asks its user before an eleventh file from one page
      await menu.locator('#picture').selectOption(String(k));
      const { name, bytes } = await saved(page, 'SVG');
      expect(name).toMatch(/^jaw-clencher_seed-9_.*\.svg$/);
      const text = bytes.toString();
      expect(text, title).toContain('seed 9');
      expect(text).toContain('not for clinical decisions');
      expect(text).not.toMatch(/NaN|undefined|Infinity/);
      expect(text.match(/<(path|rect|polygon)/g)?.length, title).toBeGreaterThan(3);
    }
    const race = titles.findIndex((title) => title.startsWith('Residual noise'));
    await menu.locator('#picture').selectOption(String(race));
    expect((await saved(page, 'SVG')).bytes.toString()).toContain('>target</text>');

    const { bytes } = await saved(page, 'PNG');
    expect([...bytes.subarray(0, 4)]).toEqual([0x89, 0x50, 0x4e, 0x47]);
    const colours = await page.evaluate(async (base64) => {
      const image = new Image();
      image.src = `data:image/png;base64,${base64}`;
      await image.decode();
      const canvas = document.createElement('canvas');
      canvas.width = image.naturalWidth;
      canvas.height = image.naturalHeight;
      const context = canvas.getContext('2d') as CanvasRenderingContext2D;
      context.drawImage(image, 0, 0);
      const { data } = context.getImageData(0, 0, canvas.width, canvas.height);
      const seen = new Set<number>();
      for (let i = 0; i < data.length; i += 4) seen.add((data[i] << 16) | (data[i + 1] << 8) | data[i + 2]);
      return { width: image.naturalWidth, seen: [...seen] };
    }, bytes.toString('base64'));
    expect(colours.width).toBeGreaterThan(300);
    // Paper, the four lanes and the target line, in the light theme's own colours.
    for (const colour of [0xf4efe4, 0x3c3a46, 0xa83f17, 0x0b6569, 0x683a9e, 0x35661f]) {
      expect(colours.seen).toContain(colour);
    }
    expect(problems).toEqual([]);
    await page.context().close();
  });

  it('gives curves as CSV with the values of the page, and keeps what is sealed', async () => {
    const { page, problems } = await openFinished();
    await openMenu(page);
    const menu = page.locator('sweep-take-away');
    const rowsOf = (bytes: Buffer) => {
      const lines = bytes.toString().trimEnd().split('\n');
      expect(lines[0]).toContain('seed 9');
      return lines.slice(2).map((line) => line.split(','));
    };
    const scenario = resolveScenario(
      withOverrides(preset('jaw-clencher'), ['session.durationS=8', 'stimulus.ratePerS=31.1']),
    );
    const session = startSession(scenario, '9');
    const meanUv = new Float64Array(session.samplesPerSweep);
    let last = new Float64Array(0);
    for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
      last = sweep.recordedUv[0].slice();
      for (let i = 0; i < meanUv.length; i++) meanUv[i] += last[i] / session.sweepCount;
    }

    await menu.locator('#curve').selectOption('averages');
    const averages = rowsOf((await saved(page, 'Save CSV')).bytes);
    expect(averages[0]).toEqual(expect.arrayContaining(['timeMs', 'A plain-mean (µV)', 'truth (µV)']));
    expect(averages).toHaveLength(1 + session.samplesPerSweep);
    for (const i of [0, 100, 200]) expect(Number(averages[i + 1][1])).toBeCloseTo(meanUv[i], 5);

    await menu.locator('#curve').selectOption('sweep');
    const sweepRows = rowsOf((await saved(page, 'Save CSV')).bytes);
    expect(Number(sweepRows[51][1])).toBeCloseTo(last[50], 3);

    await menu.locator('#curve').selectOption('weights');
    expect(rowsOf((await saved(page, 'Save CSV')).bytes)).toHaveLength(1 + session.sweepCount);

    await page.keyboard.press('Escape');
    await page.keyboard.press('t');
    await openMenu(page);
    await menu.locator('#curve').selectOption('noise');
    const { bytes } = await saved(page, 'Save CSV');
    expect(bytes.toString()).not.toContain('residual noise');
    await menu.locator('#curve').selectOption('averages');
    expect((await saved(page, 'Save CSV')).bytes.toString()).not.toContain('truth');
    expect(await menu.locator('#truth').isDisabled()).toBe(true);
    expect(problems).toEqual([]);
    await page.context().close();
  });

  it('gives the curves of the view that is looked at as CSV, and its picture as SVG and PNG', async () => {
    const { page, problems } = await openFinished();
    const menu = page.locator('sweep-take-away');
    for (const [view, table, picture] of [
      ['Read', 'desk', 'Average on the reading desk'],
      ['Verdict', 'claims', 'Own claim over true noise'],
      ['Leads', 'pickup', 'Head with electrodes'],
      ['Rates', 'locks', 'Lock map at 50 Hz'],
    ]) {
      const tab = page.getByRole('button', { name: view, exact: true });
      await tab.click();
      await expect.poll(() => tab.getAttribute('aria-current'), soon).toBe('page'); // its code comes when it is asked for
      await page.waitForTimeout(300); // the first frame of its pictures
      await openMenu(page);
      expect(await menu.locator('#curve').inputValue(), view).toBe(table); // the view's own come first
      const csv = (await saved(page, 'Save CSV')).bytes.toString().trimEnd().split('\n');
      expect(csv[0]).toContain('seed 9');
      expect(csv.length, view).toBeGreaterThan(6);
      const titles = await menu.locator('#picture option').allInnerTexts();
      const at = titles.findIndex((title) => title.startsWith(picture));
      expect(at, `${picture} in ${titles.join(' | ')}`).toBeGreaterThanOrEqual(0);
      await menu.locator('#picture').selectOption(String(at));
      const text = (await saved(page, 'SVG')).bytes.toString();
      expect(text.match(/<(path|rect|polygon)/g)?.length, view).toBeGreaterThan(6);
      expect(text).not.toMatch(/NaN|undefined|Infinity/);
      await page.keyboard.press('Escape');
    }
    expect(problems).toEqual([]);
    await page.context().close();
  });

  it('gives the recording as EDF+, BDF+ and CSV, with the sweeps of the page', async () => {
    const { page, problems } = await openFinished();
    await openMenu(page);
    const menu = page.locator('sweep-take-away');
    const edf = await saved(page, 'Save recording');
    expect(edf.name).toBe('jaw-clencher_seed-9_recording.edf');
    const reading = withFiles({ 'a.edf': edf.bytes }, (folder) => readWithEdflib(join(folder, 'a.edf'), 10));
    expect(reading.annotations.filter(([, , text]) => text.startsWith('stimulus'))).toHaveLength(248);
    await menu.locator('#format').selectOption('bdf+');
    await menu.locator('#truth').check();
    const bdf = await saved(page, 'Save recording');
    const recording = readRecording(bdf.name, bdf.bytes);
    expect(recording.channels).toHaveLength(4);
    expect(recording.warnings).toEqual([]);
    await menu.locator('#format').selectOption('csv');
    const csv = await saved(page, 'Save recording');
    expect(selectEvents(readRecording(csv.name, csv.bytes), 'stimulus=1')).toHaveLength(124);
    expect(problems).toEqual([]);
    await page.context().close();
  });

  it('gives a link that brings back scenario, seed, events and seal; a damaged one is told in one line', async () => {
    const events = encodeURIComponent(
      JSON.stringify(Array.from({ length: 12 }, (_, k) => ({ atS: k / 2, note: `step ${k}`, action: 'swallow' }))),
    );
    const { page, problems } = await openFinished(`${short}&set=events=${events}`);
    await page.keyboard.press('t');
    await openMenu(page);
    await page.getByRole('button', { name: 'Copy bench link' }).click();
    await expect.poll(() => page.url(), soon).toContain('#v=1&packed=');
    const url = page.url();
    expect(url.length - inject('siteUrl').length).toBeLessThan(500);
    await page.keyboard.press('Escape');
    const claims = await page.locator('sweep-lane #claim').allInnerTexts();

    const { page: again } = await openFinished(url.slice(inject('siteUrl').length));
    expect(await again.locator('#seed').inputValue()).toBe('9');
    expect(await again.getByRole('button', { name: 'Unseal the truth' }).count()).toBe(1);
    expect(await again.locator('sweep-lane #claim').allInnerTexts()).toEqual(claims);
    await again.context().close();

    for (const [damaged, message] of [
      [url.slice(0, -30), 'damaged or cut'],
      [url.replace(/packed=.{8}/, (part) => `${part.slice(0, -1)}~`), 'damaged or cut'],
      [url.replace('#v=1', '#v=2'), 'its version must be 1, got 2'],
    ] as const) {
      const { page: broken, problems: none } = await openWatched(browser, damaged);
      expect(await broken.getByRole('alert').innerText()).toContain(message);
      await expect.poll(() => broken.locator('#state').innerText(), soon).toBe('running');
      expect(none).toEqual([]);
      await broken.context().close();
    }
    expect(problems).toEqual([]);
    await page.context().close();
  });
});

describe('access to what goes out and comes in', () => {
  it.each(['light', 'dark'] as const)('axe-core finds nothing to object to in the %s theme', async (colorScheme) => {
    const { page, problems } = await openFinished(short, { colorScheme, viewport: { width: 390, height: 844 } });
    const objections = async () => {
      await page.evaluate(axe.source);
      const { violations } = await page.evaluate(() => (globalThis as unknown as { axe: typeof axe }).axe.run());
      return violations.flatMap(({ id, nodes }) => nodes.map(({ target }) => `${id}: ${target.flat().join(' ')}`));
    };
    await openMenu(page);
    await page.getByRole('button', { name: 'Copy bench link' }).click();
    await page.locator('sweep-take-away output').waitFor();
    expect(await objections()).toEqual([]);
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390);
    await page.keyboard.press('Escape');

    const samples = Array.from({ length: 30_000 }, (_, i) => ((i * 7919) % 83) + 0.5);
    await page.getByRole('tab', { name: 'Own recording' }).click();
    await page.locator('sweep-recording #rate').fill('250');
    await page.locator('sweep-recording input[type=file]').setInputFiles({
      name: 'own.csv',
      mimeType: 'text/csv',
      buffer: Buffer.from(`Cz\n${samples.join('\n')}\n`),
    });
    await page.getByText('The file names no events').waitFor();
    expect(await objections()).toEqual([]);
    await page.getByRole('checkbox', { name: 'Implant a known response' }).check();
    await page.getByRole('button', { name: 'Race on this recording' }).click();
    await page.getByText('The truth is known').waitFor(soon);
    expect(await objections()).toEqual([]);
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390);
    expect(problems).toEqual([]);
    await page.context().close();
  });
});

/** Pixels in the colour of lane B, which only the pictures of the report have. */
function reddishCount(ppm: Buffer): number {
  let reddish = 0;
  for (let i = 20; i + 2 < ppm.length; i += 3) {
    if (ppm[i] > 130 && ppm[i + 1] < 120 && ppm[i + 2] < 90 && ppm[i] - ppm[i + 2] > 80) reddish++;
  }
  return reddish;
}

describe('the printed report', () => {
  it('is one sheet with pictures, numbers and the link, in paper colours even from the dark theme', async () => {
    const { page, problems } = await openFinished(short, { colorScheme: 'dark' });
    const claims = await page.locator('sweep-lane #claim').allInnerTexts();
    const pdf = await page.pdf({ preferCSSPageSize: false, format: 'A4' });
    withFiles({ 'report.pdf': pdf }, (folder) => {
      const path = join(folder, 'report.pdf');
      const text = spawnSync('pdftotext', ['-layout', path, '-'], { encoding: 'utf8' }).stdout;
      expect(text.split('\f').filter((sheet) => sheet.trim() !== '')).toHaveLength(1);
      for (const claim of claims) expect(text).toContain(claim);
      expect(text).toContain('Jaw clencher');
      expect(text).toContain('seed 9');
      expect(text).toContain('stimulus.ratePerS=31.1');
      expect(text).toContain('not for clinical decisions');
      expect(text).toContain('#v=1&scenario=jaw-clencher');
      expect(text).not.toContain('Take away');
      spawnSync('pdftoppm', ['-r', '60', path, join(folder, 'sheet')]);
      const ppm = readFileSync(join(folder, 'sheet-1.ppm'));
      // Corner is white paper; somewhere there is the colour of lane B, which only the pictures have.
      expect([...ppm.subarray(-3)]).toEqual([255, 255, 255]);
      expect(reddishCount(ppm)).toBeGreaterThan(20);
    });
    if (process.env.SWEEPWISE_KEEP_REPORT) writeFileSync(process.env.SWEEPWISE_KEEP_REPORT, pdf);
    expect(problems).toEqual([]);
    await page.context().close();
  });

  it('has its pictures from any view, committed marks, and six lanes in words on the one sheet', async () => {
    const lanes = [
      { strategy: 'plain-mean', name: 'Everything in' },
      { strategy: 'threshold-rejection', parameters: { thresholdUv: 12 } },
      ...['block-weighting', 'kalman', 'sorted-averaging', 'median-average'].map((strategy, k) => ({
        strategy,
        name: `Own name ${k}`,
      })),
    ];
    for (const [count, format] of [
      [2, 'A4'],
      [6, 'Letter'],
    ] as const) {
      const asked = `${short}&set=lanes=${encodeURIComponent(JSON.stringify(lanes.slice(0, count)))}`;
      const { page, problems } = await openFinished(asked);
      await page.getByRole('button', { name: 'Read', exact: true }).click();
      await page.getByRole('button', { name: 'By the rule' }).click();
      await page.getByRole('button', { name: 'Commit marks' }).click();
      const pdf = await page.pdf({ preferCSSPageSize: false, format });
      if (process.env.SWEEPWISE_KEEP_REPORT) writeFileSync(`${process.env.SWEEPWISE_KEEP_REPORT}.${count}.pdf`, pdf);
      withFiles({ 'report.pdf': pdf }, (folder) => {
        const path = join(folder, 'report.pdf');
        const text = spawnSync('pdftotext', ['-layout', path, '-'], { encoding: 'utf8' }).stdout;
        expect(text.split('\f').filter((sheet) => sheet.trim() !== '')).toHaveLength(1);
        expect(text).toContain('slope −½'); // a label of the race
        expect(text).toMatch(/A\s+Everything in/);
        expect(text).toContain('threshold 12 µV');
        expect(text).toMatch(/Peak .*V\n.*latency .*±.*ms\n.*size .*±.*nV\n.*off by .*ms/);
        expect(text).not.toMatch(/\[\{|NaN|undefined/);
        spawnSync('pdftoppm', ['-r', '60', path, join(folder, 'sheet')]);
        const ppm = readFileSync(join(folder, 'sheet-1.ppm'));
        expect(reddishCount(ppm)).toBeGreaterThan(20);
      });
      expect(problems).toEqual([]);
      await page.context().close();
    }
  });
});
