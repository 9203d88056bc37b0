import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import axe from 'axe-core';
import type { Browser, Locator, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, inject, it } from 'vitest';
import { version } from '../../package.json';
import { driveStudy } from '../../src/study/drive.ts';
import { codeVersion } from '../../src/study/engines/codeVersion.ts';
import { inProcessEngine } from '../../src/study/engines/inProcess.ts';
import { loadStudy } from '../../src/study/engines/loadStudy.ts';
import { writeReport } from '../../src/study/engines/reportFiles.ts';
import { studyFolder } from '../../src/study/engines/studyFolder.ts';
import { CHEAP, smallStudy } from '../study/small.ts';
import { launchChromium } from './chromium.ts';
import { openWatched } from './watchedPage.ts';

const soon = { timeout: 60_000 };
const folder = mkdtempSync(join(tmpdir(), 'sweepwise-page-study-'));
let browser: Browser;
beforeAll(async () => {
  browser = await launchChromium();
});
afterAll(async () => {
  await browser?.close();
  rmSync(folder, { recursive: true });
});

async function openStudyView(options: { colorScheme?: 'light' | 'dark'; width?: number } = {}) {
  const { colorScheme = 'light', width = 1280 } = options;
  const link = '#scenario=quiet-sleeper&set=session.durationS=12';
  const view = { colorScheme, viewport: { width, height: 800 }, acceptDownloads: true };
  const { page, problems } = await openWatched(browser, `${inject('siteUrl')}${link}`, view);
  await page.locator('.rail button', { hasText: 'Study' }).click();
  return { page, problems, study: page.locator('sweep-study') };
}

async function saved(page: Page, button: Locator): Promise<string> {
  const [download] = await Promise.all([page.waitForEvent('download'), button.click()]);
  return readFileSync(await download.path(), 'utf8');
}

/** Runs a study in this process, as the terminal does; returns the folder of its results. */
async function runHere(name: string, text: string): Promise<string> {
  const path = join(folder, `${name}.yaml`);
  writeFileSync(path, text);
  const plan = await loadStudy(path);
  const store = studyFolder(join(folder, name), plan, codeVersion(version));
  const { signal } = new AbortController();
  const state = await driveStudy({ store, engine: inProcessEngine(), signal, progress: () => {}, note: () => {} });
  await writeReport(store, state);
  return store.path;
}

describe('a study on the page', () => {
  it('is set up, run, stopped, gone on with and read; its files are those of the terminal, to the byte', async () => {
    const { page, problems, study } = await openStudyView();
    await study.locator('#duration').fill('4');
    await study.locator('#varyKey').fill('muscle.burstsPerS');
    await study.locator('#varyValues').fill('0.2, 2');
    await study.locator('#replicates').fill('many');
    await study.locator('#seed').press('Tab');
    await expect
      .poll(() => study.getByRole('alert').allInnerTexts(), soon)
      .toEqual(['Patients: must be a whole number from 1, got "many"']);
    expect(await study.locator('#run').isDisabled()).toBe(true);
    await study.locator('#replicates').fill('24');
    await study.locator('#replicates').press('Tab');
    await expect
      .poll(() => study.locator('#plan').innerText(), soon)
      .toMatch(/^2 conditions, 7 settings, 24 patients each: at most 48 recordings\. Hash [0-9a-f]{12}\.$/);

    await study.locator('#run').focus();
    await page.keyboard.press('Enter');
    const progress = () => study.locator('#progress').innerText();
    await expect
      .poll(progress, soon)
      .toMatch(/all settings: ([4-9]|[1-3]\d) of 48 recordings, [\d.]+ a second, .* left$/);
    await study.locator('#stop').click();
    await study.getByText('stopped; nothing that was done is lost').waitFor(soon);
    expect(await progress()).toMatch(/^all settings: ([4-9]|[1-3]\d|4[0-7]) of 48 recordings$/);
    await study.getByText('Partial results: this study has not finished').waitFor(soon);
    const partial = await saved(page, study.locator('#save-rows'));
    const doneBefore = Number(/(\d+) of 48/.exec(await progress())?.[1]);
    expect(partial.trim().split('\n').length).toBe(1 + 7 * doneBefore);

    await page.locator('.rail button', { hasText: 'Rates' }).click(); // a study outlives its view
    await page.locator('.rail button', { hasText: 'Study' }).click();
    await study.getByRole('button', { name: 'Go on' }).click();
    await study.getByText('finished', { exact: true }).waitFor(soon);
    await expect.poll(() => study.getByText('Partial results').count(), soon).toBe(0);

    const text = await saved(page, study.locator('#save-study'));
    const here = await runHere('form', text);
    for (const [button, name] of [
      ['#save-rows', 'rows.csv'],
      ['#save-summary', 'summary.csv'],
      ['#save-report', 'report.html'],
      ['#save-results', 'results.jsonl'],
    ]) {
      const own = await saved(page, study.locator(button));
      expect([name, own === readFileSync(join(here, name), 'utf8')]).toEqual([name, true]);
    }
    const results = study.getByRole('region', { name: 'Results' });
    for (const title of [/against blockLength/, /paired$/, /Time to target against bias/]) {
      expect(await results.getByRole('img', { name: title }).count()).toBeGreaterThan(0);
    }
    expect(problems).toEqual([]);
    await page.context().close();
  });
});

describe('results of the terminal', () => {
  const recording = Array.from({ length: 4000 }, (_, i) => (5 * Math.sin(i * i * 0.37)).toFixed(3));
  let place: string;
  beforeAll(async () => {
    // Two rounds, drawn patients, a recording of one's own: all that the form cannot say.
    writeFileSync(join(folder, 'background.csv'), `Cz\n${recording.join('\n')}\n`);
    const own = 'background: { files: [background.csv], channel: Cz, sampleRateHz: 500 }';
    const set = 'session.durationS: 4, converter.sampleRateHz: 2000, filter.lowPassHz: 200, filter.highPassHz: 20';
    const scenarios = `\n  - { id: clencher, scenario: jaw-clencher, set: ${CHEAP}, draw: { muscle.burstUv: { uniform: [10, 40] }, eeg.slowUv: { uniform: [4, 9] } } }\n  - { id: real, set: { ${set} }, ${own} }`;
    place = await runHere('terminal', smallStudy({ scenarios, test: `[{ id: sealed, set: ${CHEAP} }]` }));
  });

  it.each(['light', 'dark'] as const)(
    'open as a file or a folder, without a fault that axe-core finds, %s',
    async (colorScheme) => {
      const { page, problems, study } = await openStudyView({ colorScheme, width: 390 });
      const [input, title] = colorScheme === 'light' ? ['#files', 'Results'] : ['#folder', 'Results'];
      await study.locator(input).setInputFiles(colorScheme === 'light' ? join(place, 'results.jsonl') : place);
      const results = study.getByRole('region', { name: title });
      await results
        .getByText('What matters most', { exact: false })
        .first()
        .waitFor({ ...soon, state: 'attached' });
      await results.getByText('sealed test', { exact: true }).waitFor(soon);
      await results.locator('details').first().locator('summary').click();
      expect(await results.locator('details').first().getByRole('table').innerText()).toContain('…');
      for (const [button, name] of [
        ['#save-rows', 'rows.csv'],
        ['#save-report', 'report.html'],
      ]) {
        const own = await saved(page, study.locator(button));
        expect([name, own === readFileSync(join(place, name), 'utf8')]).toEqual([name, true]);
      }
      expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390);
      await page.evaluate(axe.source);
      const found = await page.evaluate(async () => (globalThis as unknown as { axe: typeof axe }).axe.run());
      expect(
        found.violations.flatMap(({ id, nodes }) => nodes.map(({ target }) => `${id}: ${target.flat().join(' ')}`)),
      ).toEqual([]);
      expect(problems).toEqual([]);
      await page.context().close();
    },
  );

  it('a study file runs here with the recording that it names; what cannot be opened is one clear line', async () => {
    const { page, problems, study } = await openStudyView();
    const file = join(folder, 'terminal.yaml');
    const alert = () => study.getByRole('alert').allInnerTexts();
    await study.locator('#files').setInputFiles(file);
    await expect
      .poll(alert, soon)
      .toEqual([
        expect.stringContaining('background.files: background.csv is not here; choose it together with terminal.yaml'),
      ]);
    await study.locator('#files').setInputFiles([file, join(folder, 'background.csv')]);
    await study.locator('#run').click();
    await study.getByText('finished', { exact: true }).waitFor(soon);
    const own = await saved(page, study.locator('#save-rows'));
    expect(own === readFileSync(join(place, 'rows.csv'), 'utf8')).toBe(true);

    const lines = readFileSync(join(place, 'results.jsonl'), 'utf8').split('\n');
    mkdirSync(join(folder, 'broken'));
    const broken: [string, string, string][] = [
      [
        'rows.csv',
        readFileSync(join(place, 'rows.csv'), 'utf8'),
        'rows.csv: must be a study (YAML), results.jsonl, or a folder of results; tables of rows do not hold their study',
      ],
      [
        'torn.jsonl',
        `${lines[0]}\n${lines[1].slice(0, 50)}`,
        'torn.jsonl: line 2: must be one JSON object, got a torn or foreign line',
      ],
      [
        'other.jsonl',
        `${lines[0].replace('"seed', '"sead')}`.replace('Which one?', 'Which other?'),
        'results: must be of the study that they name',
      ],
      [
        'mine.yaml',
        smallStudy({ strategies: '[{ strategy: ./mine.ts }]' }),
        'strategies: ./mine.ts is not here; choose it together with mine.yaml',
      ],
      [
        'bad.yaml',
        smallStudy({ replicates: 'lots' }),
        'bad.yaml: line 9: replicates: must be a whole number, or from, to and until, got "lots"',
      ],
    ];
    for (const [name, content, message] of broken) {
      writeFileSync(join(folder, 'broken', name), content);
      await study.locator('#files').setInputFiles(join(folder, 'broken', name));
      await expect.poll(alert, soon).toEqual([expect.stringContaining(message)]);
    }
    writeFileSync(
      join(folder, 'broken/old.jsonl'),
      lines.join('\n').replaceAll(codeVersion(version), '0.0.9+deadbeef'),
    );
    await study.locator('#files').setInputFiles(join(folder, 'broken/old.jsonl'));
    await study.getByText('These rows are of version 0.0.9+deadbeef', { exact: false }).waitFor(soon);
    expect(problems).toEqual([]);
    await page.context().close();
  });
});
