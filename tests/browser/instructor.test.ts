import { copyFileSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import axe from 'axe-core';
import { unzipSync } from 'fflate';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, inject, it } from 'vitest';
import { sweepwise } from '../cli/sweepwise.ts';
import { writeQuickClass } from '../lessons/quickClass.ts';
import { launchChromium } from './chromium.ts';
import { openWatched } from './watchedPage.ts';

const slow = { timeout: 120_000 };
let browser: Browser;
let folder: string;
let lessonFolder: string;
let attempts: string;
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'sweepwise-instructor-'));
  ({ lessonFolder, attempts } = writeQuickClass(folder));
  browser = await launchChromium();
});
afterAll(async () => {
  await browser?.close();
  rmSync(folder, { recursive: true });
});

/** What axe-core objects to in an instructor's part, as `rule: target`. */
async function objections(page: Page, element: string): Promise<string[]> {
  await page.evaluate(axe.source);
  return page.evaluate(async (within) => {
    const { axe: checker } = globalThis as unknown as { axe: typeof axe };
    const { violations } = await checker.run();
    const all = violations.flatMap(({ id, nodes }) => nodes.map(({ target }) => `${id}: ${target.join(' ')}`));
    return all.filter((objection) => objection.includes(within));
  }, element);
}

async function openDesk(colorScheme: 'light' | 'dark', button: string) {
  const opened = await openWatched(browser, inject('siteUrl'), { colorScheme, acceptDownloads: true });
  await opened.page.getByRole('tab', { name: 'Lessons' }).click();
  await opened.page.locator(button).press('Enter');
  return opened;
}

describe('the report on a class', () => {
  it('is that of the terminal; an altered attempt is named and does not count', async () => {
    const altered = JSON.parse(readFileSync(join(attempts, 'Ada.json'), 'utf8'));
    altered.score.points = 99;
    writeFileSync(join(attempts, 'Di.json'), JSON.stringify(altered));
    const csv = sweepwise(['lesson', 'report', attempts, '--lesson', lessonFolder, '--csv']);
    const [told] = JSON.parse(sweepwise(['lesson', 'report', attempts, '--lesson', lessonFolder, '--json']).stdout);
    copyFileSync(join(lessonFolder, 'lesson.yaml'), join(attempts, 'lesson.yaml'));

    const { page, problems } = await openDesk('dark', '#desk-class');
    await page.locator('#class-folder').setInputFiles(attempts);
    await expect
      .poll(() => page.locator('#class-done').innerText({ timeout: 60_000 }), slow)
      .toBe('3 good attempts, 1 left out.');
    expect(await page.locator('#left-out').innerText()).toMatch(
      /Di\.json: score\.points: must be \d+, as simulated, got 99/,
    );
    const [download] = await Promise.all([page.waitForEvent('download'), page.locator('#class-csv').press('Enter')]);
    expect(readFileSync(await download.path(), 'utf8')).toBe(csv.stdout);
    const shown = await page
      .locator('sweep-class-report')
      .evaluate(({ shadowRoot }) => (shadowRoot?.textContent ?? '').replace(/\s+/g, ' '));
    expect(shown).toContain('Quieter by the root, 50 Hz: 3 attempts');
    expect(shown).toContain(`lowest ${told.quartiles[0].toFixed(0)}, quartiles`);
    expect(shown).toContain('3 of 3: “Wildly: by a factor of two or more”');
    for (const { text } of told.items) expect(shown).toContain(text);
    expect(await objections(page, 'class-report')).toEqual([]);
    await page.setViewportSize({ width: 390, height: 844 });
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390);
    await page.locator('#class-files').setInputFiles(join(attempts, 'lesson.yaml'));
    await expect.poll(() => page.getByRole('alert').innerText(), slow).toContain('must have attempts (.json)');
    expect(problems).toEqual([]);
    await page.context().close();
  });

  it('a handout with its answer sheet is saved from the list', async () => {
    const { page, problems } = await openWatched(browser, inject('siteUrl'), { acceptDownloads: true });
    await page.getByRole('tab', { name: 'Lessons' }).click();
    const button = page.locator('#handout-quieter-by-the-root');
    const [download] = await Promise.all([page.waitForEvent('download'), button.press('Enter')]);
    const sheet = readFileSync(await download.path(), 'utf8');
    sweepwise(['lesson', 'handout', 'quieter-by-the-root', '--to', folder]);
    expect(sheet).toBe(readFileSync(join(folder, 'quieter-by-the-root-handout.html'), 'utf8'));
    expect(problems).toEqual([]);
    await page.context().close();
  });
});

describe('the form for a lesson', () => {
  it('opens a folder, names what is wrong, tries it, and saves what the terminal takes', async () => {
    const { page, problems } = await openDesk('light', '#desk-form');
    const findings = page.locator('#findings');
    const files = ['lesson.yaml', 'introduction.md', 'tasks.md', 'hints.md', 'model-answer.md', 'design.md'];
    await page.locator('#open-lesson').setInputFiles(files.map((file) => join(lessonFolder, file)));
    await expect.poll(() => findings.innerText(), slow).toContain('Good, for 50 and 60 Hz.');

    await page.locator('#minutes').fill('-3');
    await page.locator('#minutes').press('Tab');
    await expect.poll(() => findings.innerText(), slow).toMatch(/lesson\.yaml:\d+: minutes: must be .*, got -3/);
    expect(await page.locator('#minutes').getAttribute('aria-invalid')).toBe('true');
    await page.locator('#minutes').fill('30');
    await page.locator('#minutes').press('Tab');
    for (const summary of await page.locator('sweep-lesson-form .part > summary').all()) {
      if (!(await summary.evaluate((node) => (node.parentElement as HTMLDetailsElement).open)))
        await summary.press('Enter');
    }
    await page.locator('#hidden-seeds').selectOption('per-learner');
    await page.locator('#attemptLimit').fill('2');
    await page.locator('#attemptLimit').press('Tab');
    const controls = page.locator('sweep-lesson-form-controls');
    for (const summary of await controls.locator('summary').all()) await summary.press('Enter');
    await controls.locator('[id="filter.highPassHz"]').selectOption('hidden');
    await expect.poll(() => page.locator('#yaml').inputValue(), slow).toContain('- filter.highPassHz');
    await page.locator('#runs-0-change').fill('{ stimulus.levelDbNhl: 97 }');
    await page.locator('#runs-0-change').press('Tab');
    await expect.poll(() => page.locator('#warnings').innerText(), slow).toMatch(/stimulus\.levelDbNhl .* got 97/);
    expect(await findings.innerText()).toContain('Good');
    expect(await objections(page, 'lesson-form')).toEqual([]);
    await page.setViewportSize({ width: 390, height: 844 });
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390);

    await page.locator('#dry-run').press('Enter');
    await expect.poll(() => page.locator('#dry-run-result tbody tr').count(), slow).toBeGreaterThanOrEqual(10);
    expect(await page.locator('#verdicts li').count()).toBe(4);
    const [download] = await Promise.all([page.waitForEvent('download'), page.locator('#save-zip').press('Enter')]);
    const saved = join(folder, 'saved');
    for (const [path, content] of Object.entries(unzipSync(readFileSync(await download.path())))) {
      mkdirSync(dirname(join(saved, path)), { recursive: true });
      writeFileSync(join(saved, path), content);
    }
    const { stdout } = sweepwise(['lesson', 'check', join(saved, 'quieter-by-the-root')]);
    expect(stdout).toBe('quieter-by-the-root: good, version 1, for 50 and 60 Hz\n');
    const manifest = readFileSync(join(saved, 'quieter-by-the-root', 'lesson.yaml'), 'utf8');
    expect(manifest).toMatch(/minutes: 30\n[\s\S]*seeds: per-learner[\s\S]*attemptLimit: 2\n/);
    expect(problems).toEqual([]);
    await page.context().close();
  });
});
