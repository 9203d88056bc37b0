import { describe, expect, it } from 'vitest';
import { meanOf, rmsOf } from '../../src/core/quality/replicates.ts';
import type { RunCache } from '../../src/lessons/hiddenRuns.ts';
import { lesson } from './lessonFolders.ts';
import { jackknife, laneOf, markNow, measured, measureNow, SLOW } from './marking.ts';

const theLesson = lesson('rails-and-tails');
const { settings, answers } = theLesson.players.textbook;
const attempt = { settings, answers, attemptSeed: '1' };
const cache: RunCache = new Map();

describe('Rails and tails', () => {
  it('a textbook learner does well', SLOW, () => {
    expect(markNow(theLesson, attempt, cache).points).toBeGreaterThanOrEqual(85);
  });

  const lane = (id: string, name: string) => laneOf(measured(theLesson, id, attempt, cache), name);
  const gain = (id: string, name: string) => jackknife(12, (kept) => meanOf(lane(id, name).gain, kept));
  const ratio = (of: [string, string], to: [string, string]) =>
    jackknife(12, (kept) => rmsOf(lane(...of).noiseNv, kept) / rmsOf(lane(...to).noiseNv, kept));

  it('flat sweeps take blocks and Kalman-style means in: next to nothing of the response is left', SLOW, () => {
    // No mark asks for the Kalman-style mean here, so it is measured for this claim alone.
    const kalman = laneOf(measureNow(theLesson, 'as-found', attempt, ['kalman']), 'kalman');
    for (const { id, gain } of [lane('as-found', 'block-weighting'), kalman]) {
      const { value, error } = jackknife(12, (kept) => meanOf(gain, kept));
      expect(value + 3 * error, id).toBeLessThan(0.3);
    }
  });

  it('the plain mean keeps more than half, and a line does no better: flat passes every line', () => {
    const plain = gain('as-found', 'plain-mean');
    expect(plain.value - 3 * plain.error).toBeGreaterThan(0.5);
    const { value, error } = ratio(['as-found', 'threshold-rejection'], ['as-found', 'plain-mean']);
    expect(Math.abs(value - 1)).toBeLessThan(Math.max(0.1, 3 * error));
  });

  it('with flagged sweeps left out every strategy has its gain back, within 3 standard errors', () => {
    for (const name of ['plain-mean', 'threshold-rejection', 'block-weighting', 'kalman']) {
      const { value, error } = gain('flagged', name);
      expect(error, name).toBeLessThan(0.1);
      expect(Math.abs(value - 1), name).toBeLessThan(3 * error);
    }
  });

  it('clipping bounds what bursts do to a plain mean, by 3 standard errors, and does not fool blocks', () => {
    const { value, error } = ratio(['clencher', 'plain-mean'], ['clencher-wide', 'plain-mean']);
    expect(value + 3 * error).toBeLessThan(1);
    const blocks = gain('clencher', 'block-weighting');
    expect(Math.abs(blocks.value - 1)).toBeLessThan(3 * blocks.error);
  });
});
