import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, inject, it } from 'vitest';
import { resolveScenario } from '../../src/core/scenario/resolve.ts';
import { lanesOf } from '../../src/core/session/lanes.ts';
import { runRecording } from '../../src/core/session/recordingRun.ts';
import { readRecording, selectChannels, selectEvents } from '../../src/formats/index.ts';
import { decimalText, voltageText } from '../../src/web/model/numberText.ts';
import { launchChromium } from './chromium.ts';
import { openWatched } from './watchedPage.ts';

const oddball = fileURLToPath(new URL('../../../shared/data/auditory-oddball/run-1.csv.gz', import.meta.url));
const soon = { timeout: 30_000 };

let browser: Browser;
beforeAll(async () => {
  browser = await launchChromium();
});
afterAll(() => browser?.close());

/** Drops files on the page as a person would. */
async function drop(page: Page, files: { name: string; content: Uint8Array | string }[]): Promise<void> {
  const encoded = files.map(({ name, content }) => ({ name, base64: Buffer.from(content).toString('base64') }));
  const transfer = await page.evaluateHandle((list) => {
    const data = new DataTransfer();
    for (const { name, base64 } of list) {
      data.items.add(new File([Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0))], name));
    }
    return data;
  }, encoded);
  await page.dispatchEvent('sweep-lab', 'drop', { dataTransfer: transfer });
}

describe('files dropped on the page', () => {
  it('a real recording opens and is raced, with what is known there and nothing more', async () => {
    const { page, problems } = await openWatched(browser, inject('siteUrl'));
    const bytes = readFileSync(oddball);
    await drop(page, [{ name: 'run-1.csv.gz', content: bytes }]);
    const panel = page.locator('sweep-recording');
    const rows = panel.locator('tbody tr');
    await expect.poll(() => rows.count(), soon).toBe(4);
    await panel.locator('[name=events]').selectOption('Marker0=2');
    await panel.locator('[name=channel]').fill('TP10');
    await panel.getByRole('button', { name: 'Race on this recording' }).click();
    const recording = readRecording('run-1.csv.gz', bytes);
    const eventTimesS = selectEvents(recording, 'Marker0=2');
    await expect.poll(() => panel.locator('section').innerText(), soon).toContain(`${eventTimesS.length} sweeps`);

    const [{ samplesUv, sampleRateHz }] = selectChannels(recording, 'TP10');
    const { lanes } = runRecording([{ samplesUv, sampleRateHz, eventTimesS, missing: recording.missing }], {
      windowMs: [-100, 700],
      bandHz: [1, 30],
      lanes: lanesOf(resolveScenario({})),
      automaticThreshold: true,
      seed: '1',
    });
    const shown = await rows.allInnerTexts();
    for (const [k, lane] of lanes.entries()) {
      expect(shown[k]).toContain(voltageText(lane.ownNoiseNv / 1000));
      expect(shown[k]).toContain(voltageText(lane.randomWindowNv / 1000));
      expect(shown[k]).toContain(decimalText(lane.halvesCorrelation, 2));
    }
    expect(await panel.locator('section').innerText()).toContain('The truth is not known here');
    expect(problems).toEqual([]);
    await page.context().close();
  });

  const broken = [
    // name, content, what the message must say
    ['empty.csv', '', 'empty.csv: file: must hold a recording, got 0 bytes'],
    ['words.csv', 'time,Cz\n0,1\n0.004,loud\n0.008,2\n', 'words.csv'],
    ['short.edf', '0       X', 'short.edf'],
    ['odd.yaml', 'stimulus:\n  ratePerSecond: 31\n', 'odd.yaml: stimulus.ratePerSecond: unknown key'],
    ['torn.json', '{"stimulus": ', 'torn.json'],
  ] as const;
  it.each(broken)('%s gives one clear message and the bench goes on', async (name, content, message) => {
    const { page, problems } = await openWatched(browser, inject('siteUrl'));
    await drop(page, [{ name, content }]);
    const alert = page.getByRole('alert');
    await expect.poll(() => alert.count(), soon).toBe(1);
    expect((await alert.innerText()).split('\n')).toHaveLength(1);
    expect(await alert.innerText()).toContain(message);
    await expect.poll(() => page.locator('#state').innerText(), soon).toBe('running');
    expect(problems).toEqual([]);
    await page.context().close();
  });

  it('a scenario file goes on the bench', async () => {
    const { page, problems } = await openWatched(browser, inject('siteUrl'));
    await drop(page, [{ name: 'mine.yaml', content: 'id: mine\ntitle: My own\nstimulus:\n  ratePerS: 19.7\n' }]);
    await expect.poll(() => page.locator('sweep-drive dl').innerText(), soon).toContain('19.7/s');
    expect(await page.locator('#patient').evaluate((field: HTMLSelectElement) => field.selectedOptions[0].label)).toBe(
      'My own',
    );
    expect(problems).toEqual([]);
    await page.context().close();
  });
});

describe('links', () => {
  it('bring back preset, seed and every changed setting', async () => {
    const { page, problems } = await openWatched(browser, `${inject('siteUrl')}#scenario=faint-click&seed=blue`);
    const level = page.locator('sweep-drawer [id="stimulus.levelDbNhl"]');
    await level.fill('40');
    await level.press('Tab');
    await page.getByRole('button', { name: 'Copy link' }).click();
    await expect.poll(() => page.url(), soon).toContain('scenario=faint-click');
    const { page: again } = await openWatched(browser, page.url());
    await expect.poll(() => again.locator('sweep-drawer [id="stimulus.levelDbNhl"]').inputValue(), soon).toBe('40');
    expect(await again.locator('#seed').inputValue()).toBe('blue');
    expect(await again.locator('#patient').inputValue()).toBe('faint-click');
    expect(problems).toEqual([]);
    await again.context().close();
    await page.context().close();
  });

  it('that do not hold are told in one line, and the default patient runs', async () => {
    const { page, problems } = await openWatched(browser, `${inject('siteUrl')}#scenario=nobody`);
    expect(await page.getByRole('alert').innerText()).toContain('unknown scenario "nobody"; one of quiet-sleeper');
    await expect.poll(() => page.locator('#state').innerText(), soon).toBe('running');
    expect(problems).toEqual([]);
    await page.context().close();
  });
});
