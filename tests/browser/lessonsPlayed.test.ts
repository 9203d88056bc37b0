import { readFileSync } from 'node:fs';
import type { Browser, Locator, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, inject, it } from 'vitest';
import { version } from '../../package.json';
import type { LineHz } from '../../src/lessons/atLine.ts';
import { readAttemptFile } from '../../src/lessons/attemptFile.ts';
import type { Answer } from '../../src/lessons/markQuestion.ts';
import type { Lesson, Question } from '../../src/lessons/schema.ts';
import { verifyAttempt } from '../../src/lessons/verifyAttempt.ts';
import { lesson } from '../lessons/lessonFolders.ts';
import { launchChromium } from './chromium.ts';
import { openWatched } from './watchedPage.ts';

let browser: Browser;
beforeAll(async () => {
  browser = await launchChromium();
});
afterAll(() => browser?.close());

const soon = { timeout: 60_000 };
const slow = { timeout: 150_000 };

/** Gives an answer as a person would: in the fields of the question, found by their labels. */
async function give(page: Page, question: Question, answer: Answer): Promise<void> {
  const field = page.locator('sweep-lesson-question').filter({ has: page.getByText(question.text, { exact: false }) });
  const labelled = (text: string): Locator => field.first().getByLabel(text, { exact: true });
  switch (question.kind) {
    case 'number':
      await labelled(`${question.text} ${question.unit}`).fill(String(answer));
      await labelled(`${question.text} ${question.unit}`).press('Tab');
      return;
    case 'choice': {
      const option = question.options.find(({ id }) => id === answer);
      return labelled(option?.text ?? '').check();
    }
    case 'claims':
      for (const { id, text } of question.claims) if ((answer as string[]).includes(id)) await labelled(text).check();
      return;
    case 'yes-no':
      for (const { id, text } of question.items) {
        await labelled(`${text}: ${(answer as Record<string, boolean>)[id] ? 'yes' : 'no'}`).check();
      }
      return;
    case 'ranking':
      for (const [k, id] of (answer as string[]).entries()) {
        const item = question.items.find((entry) => entry.id === id);
        await labelled(`Place of ${item?.text}, 1 is the lowest`).selectOption(String(k + 1));
      }
      return;
    default:
      question satisfies never;
  }
}

/** Plays a lesson as its own textbook learner would, from the list to the mark. */
async function play(page: Page, { id, players, predictions, measurements, explanations, settings, essay }: Lesson) {
  const { textbook } = players;
  const giveAll = async (questions: readonly Question[]) => {
    for (const question of questions) await give(page, question, textbook.answers[question.id] as Answer);
  };
  await page.locator(`#open-${id}`).click();
  await page.locator('#to-prediction').click();
  await giveAll(predictions);
  for (const field of await page.getByLabel(/^How sure, in percent/).all()) {
    await field.fill('80');
    await field.press('Tab');
  }
  await page.locator('#lock').click();
  await page.locator('#speed').selectOption({ label: 'as fast as it goes' });
  for (const setting of settings) {
    const field = page.locator(`#setting-${setting.id}`);
    const value = String(textbook.settings[setting.id]);
    if (setting.kind === 'choice') await field.selectOption(value);
    else {
      await field.fill(value);
      await field.press('Tab');
    }
  }
  await expect.poll(() => page.locator('#unseal').isEnabled(), slow).toBe(true);
  await page.locator('#unseal').click();
  await page.locator('#to-answers').click();
  await giveAll(measurements);
  await giveAll(explanations);
  await page.locator('#essay').fill(essay.prompt);
  await page.locator('#mark-it').click();
  await expect.poll(() => page.locator('#total').isVisible(), slow).toBe(true);
}

/** Saves the attempt and reads the file. */
async function saved(page: Page): Promise<string> {
  const [download] = await Promise.all([page.waitForEvent('download'), page.locator('#save-attempt').click()]);
  return readFileSync(await download.path(), 'utf8');
}

describe('lessons played whole by a scripted learner', () => {
  it.each<[string, LineHz]>([
    ['slow-tide', 50],
    ['same-number-twice', 60],
    ['calm-enough', 50],
  ])('%s at %i Hz: to a mark that the terminal agrees with', async (slug, lineHz) => {
    const { page, problems } = await openWatched(browser, inject('siteUrl'));
    await page.getByRole('tab', { name: 'Lessons' }).click();
    await page.locator('#line-hz').selectOption(String(lineHz));
    const played = lesson(slug, lineHz);
    await play(page, played);

    const total = Number.parseInt(await page.locator('#total').innerText(), 10);
    expect(total).toBeGreaterThanOrEqual(80);
    const file = readAttemptFile('a.json', await saved(page));
    expect(file.answers).toEqual(played.players.textbook.answers);
    expect(file.settings).toEqual(played.players.textbook.settings);
    const { problems: found, mark } = verifyAttempt(played, file, version);
    expect([found, mark?.points]).toEqual([[], total]);
    expect(problems).toEqual([]);
    await page.context().close();
  });
});

describe('a lesson where the disk is full', () => {
  it('says so, goes on, can be saved, and keeps what comes once there is room', async () => {
    const { page } = await openWatched(browser, inject('siteUrl'));
    await page.getByRole('tab', { name: 'Lessons' }).click();
    await page.locator('#open-slow-tide').click();
    const { origin } = new URL(inject('siteUrl'));
    const session = await page.context().newCDPSession(page);
    await session.send('Storage.overrideQuotaForOrigin', { origin, quotaSize: 1 });
    await page.locator('#to-prediction').click();
    const [first] = lesson('slow-tide').predictions;
    await give(page, first, lesson('slow-tide').players.textbook.answers[first.id] as Answer);
    await expect.poll(() => page.getByRole('alert').innerText(), soon).toContain('does not keep your attempt');
    const file = readAttemptFile('a.json', await saved(page));
    expect(Object.keys(file.answers)).toEqual([first.id]);

    await session.send('Storage.overrideQuotaForOrigin', { origin });
    await page.locator('#learner').fill('Ada');
    await page.locator('#learner').press('Tab');
    await page.locator('#lock').click();
    await expect.poll(() => page.getByRole('alert').count(), soon).toBe(0);
    await page.reload();
    await page.getByRole('tab', { name: 'Lessons' }).click();
    await page.locator('#open-slow-tide').click();
    await expect.poll(() => page.locator('#learner').inputValue(), soon).toBe('Ada');
    await page.context().close();
  });
});
