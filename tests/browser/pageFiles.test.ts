import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, inject, it } from 'vitest';
import { resolveScenario } from '../../src/core/scenario/resolve.ts';
import { implantRun, implantScenario } from '../../src/core/session/implant.ts';
import { lanesOf } from '../../src/core/session/lanes.ts';
import { runRecording } from '../../src/core/session/recordingRun.ts';
import { readRecording, selectChannels, selectEvents } from '../../src/formats/index.ts';
import { decimalText, voltageText } from '../../src/web/model/numberText.ts';
import { buildWfdb, buildWfdbAnnotations } from '../formats/buildWfdb.ts';
import { launchChromium } from './chromium.ts';
import { picturesWithTables } from './pictureTables.ts';
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
    const rows = panel.getByRole('group', { name: 'Report' }).locator('tbody tr');
    await expect.poll(() => rows.count(), soon).toBe(4);
    await panel.getByRole('checkbox', { name: 'Marker0=1' }).uncheck();
    await panel.getByRole('checkbox', { name: 'Marker0=2' }).check();
    await panel.locator('[name=channel]').fill('TP10');
    await panel.getByRole('button', { name: 'Race on this recording' }).click();
    const recording = readRecording('run-1.csv.gz', bytes);
    const eventTimesS = selectEvents(recording, 'Marker0=2');
    await panel.getByText(`${eventTimesS.length} sweeps`).waitFor(soon);

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
    await panel.getByText('The truth is not known here').waitFor(soon);
    const pictures = await picturesWithTables(page);
    expect(pictures.filter(({ name }) => name.startsWith('Averages of the recording'))).toHaveLength(1);
    expect(pictures.filter(({ lack }) => lack !== null)).toEqual([]);
    expect(problems).toEqual([]);
    await page.context().close();
  });

  it('a known response is implanted into a real recording, and its truth is told', async () => {
    const { page, problems } = await openWatched(browser, inject('siteUrl'));
    const bytes = readFileSync(oddball);
    await drop(page, [{ name: 'run-1.csv.gz', content: bytes }]);
    const panel = page.locator('sweep-recording');
    await panel.getByRole('checkbox', { name: 'Implant a known response' }).check();
    await panel.locator('[name=implantUv]').fill('12');
    await panel.getByRole('button', { name: 'Race on this recording' }).click();
    await panel.getByText('The truth is known').waitFor(soon);

    const recording = readRecording('run-1.csv.gz', bytes);
    const [{ samplesUv, sampleRateHz }] = selectChannels(recording, 'TP9');
    const backgrounds = [{ samplesUv, sampleRateHz, missing: recording.missing }];
    const scenario = implantScenario(backgrounds, { kind: 'cortical', sizeUv: 12, document: {} });
    const steps = implantRun(backgrounds, scenario, '1', lanesOf(resolveScenario({})));
    let step = steps.next();
    while (!step.done) step = steps.next();
    const shown = await panel.getByRole('group', { name: 'Report' }).locator('tbody tr').allInnerTexts();
    for (const [k, lane] of step.value.lanes.entries()) {
      expect(shown[k]).toContain(voltageText(lane.residualNoiseUv));
      expect(shown[k]).toContain(decimalText(lane.amplitudeGain, 2));
    }
    await panel.getByText(voltageText(step.value.truthPeakUv)).waitFor(soon);

    await panel.locator('[name=implantKind]').selectOption('click-abr');
    await panel.getByRole('button', { name: 'Race on this recording' }).click();
    await expect.poll(() => panel.getByRole('alert').count(), soon).toBe(1);
    expect(await panel.getByRole('alert').innerText()).toContain('below half the recording');
    expect(problems).toEqual([]);
    await page.context().close();
  });

  it('a WFDB record and a text without rate, unit or events are mapped by hand', async () => {
    const { page, problems } = await openWatched(browser, inject('siteUrl'));
    const panel = page.locator('sweep-recording');
    const report = panel.getByRole('group', { name: 'Report' });
    const samples = Array.from({ length: 9000 }, (_, i) => Math.round(40 * Math.sin(i / 7) + ((i * 7919) % 83)));
    const trigger = samples.map((_, i) => (i % 300 < 10 ? 500 : 0));
    const record = buildWfdb('own', 300, 212, [
      { samples, rest: '1/uV 12 0 0 0 0 Cz' },
      { samples: trigger, rest: '1/uV 12 0 0 0 0 Trigger' },
    ]);
    const beats = buildWfdbAnnotations(Array.from({ length: 20 }, (_, k) => ({ tick: 400 * (k + 1), code: 1 })));
    await drop(
      page,
      [...record, { name: 'own.atr', bytes: beats }].map(({ name, bytes }) => ({ name, content: bytes })),
    );
    await expect.poll(() => report.innerText(), soon).toContain('20');
    expect(await panel.getByRole('checkbox', { name: 'annotation=N' }).isChecked()).toBe(true);

    const lines = samples.map((value, i) => `${value},${trigger[i] + 0.5}`);
    await drop(page, [{ name: 'plain.csv', content: `Cz,Trigger\n${lines.join('\n')}\n` }]);
    await expect.poll(() => panel.getByRole('alert').count(), soon).toBe(1);
    expect(await panel.getByRole('alert').innerText()).toContain('unless a sampling rate is given');
    await panel.locator('#rate').fill('300');
    await panel.locator('#rate').press('Tab');
    await panel.getByText('The file names no events').waitFor();
    expect(await panel.getByRole('button', { name: 'Race on this recording' }).isDisabled()).toBe(true);
    await panel.locator('#trigger').selectOption('Trigger');
    await panel.locator('#first').fill('250');
    await panel.getByRole('button', { name: 'Add stimuli' }).click();
    await panel.getByLabel('Polarity of rise=Trigger@250').selectOption('alternating');
    await panel.getByRole('button', { name: 'Race on this recording' }).click();
    // 30 rises, the first at sample 0 is none, the last window ends within the recording.
    await panel.getByText('29 sweeps').waitFor(soon);
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
    await page.getByRole('button', { name: 'Take away' }).click();
    await page.getByRole('button', { name: 'Copy bench link' }).click();
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
