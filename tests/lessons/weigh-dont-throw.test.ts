import { describe, expect, it } from 'vitest';
import { meanOf, rmsOf } from '../../src/core/quality/replicates.ts';
import type { RunCache } from '../../src/lessons/hiddenRuns.ts';
import { lesson } from './lessonFolders.ts';
import { jackknife, laneOf, markNow, measured, SLOW } from './marking.ts';

const theLesson = lesson('weigh-dont-throw');
const { settings, answers } = theLesson.players.textbook;
const attempt = { settings, answers, attemptSeed: '1' };
const cache: RunCache = new Map();

describe('Weigh, don’t throw', () => {
  it('a textbook learner does well', SLOW, () => {
    expect(markNow(theLesson, attempt, cache).points).toBeGreaterThanOrEqual(80);
  });

  const lane = (id: string, name: string) => laneOf(measured(theLesson, id, attempt, cache), name);
  const ratio = (id: string, of: string, to: string) =>
    jackknife(14, (kept) => rmsOf(lane(id, of).noiseNv, kept) / rmsOf(lane(id, to).noiseNv, kept));

  const worse = [
    // run, worse, better, why
    ['bursts-tried', 'block-weighting@128', 'block-weighting@16', 'a block longer than a burst is never clean'],
    ['bursts-tried', 'block-weighting@256', 'block-weighting@16', 'nor is a longer one'],
    ['bursts-tried', 'plain-mean', 'block-weighting@16', 'bursts enter the mean at full weight'],
    ['steps-tried', 'threshold-rejection@20', 'block-weighting@16', 'a line keeps or throws the middle grade'],
    ['steps-tried', 'threshold-rejection@50', 'block-weighting@16', 'a wide one lets the loud grade in'],
  ] as const;
  it.each(worse)('%s: %s is noisier than %s by 3 standard errors: %s', (id, of, to) => {
    const { value, error } = ratio(id, of, to);
    expect(value - 3 * error).toBeGreaterThan(1);
  });

  it('on bursts a good line and short blocks tie, within 3 standard errors or 18 %', () => {
    const { value, error } = ratio('bursts-tried', 'threshold-rejection@10', 'block-weighting@16');
    expect(Math.abs(value - 1)).toBeLessThan(Math.max(0.18, 3 * error));
  });

  it('blocks of 16 leave the response on Tomas as it is, within 3 standard errors', () => {
    const { value, error } = jackknife(14, (kept) => meanOf(lane('bursts-tried', 'block-weighting@16').gain, kept));
    expect(error).toBeLessThan(0.1);
    expect(Math.abs(value - 1)).toBeLessThan(3 * error);
  });
});
