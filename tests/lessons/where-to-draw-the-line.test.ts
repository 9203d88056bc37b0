import { describe, expect, it } from 'vitest';
import { meanOf, rmsOf } from '../../src/core/quality/replicates.ts';
import type { RunCache, RunMeasure } from '../../src/lessons/hiddenRuns.ts';
import { lesson } from './lessonFolders.ts';
import { jackknife, laneOf, markNow, measured, SLOW } from './marking.ts';

const theLesson = lesson('where-to-draw-the-line');

const { settings, answers } = theLesson.players.textbook;
const textbook = { settings, answers };
const seeds = ['1'];
const cache: RunCache = new Map();

describe('Where to draw the line', () => {
  it.each(seeds)('a textbook learner does well, attempt seed %s', SLOW, (attemptSeed) => {
    expect(markNow(theLesson, { ...textbook, attemptSeed }, cache).points).toBeGreaterThanOrEqual(80);
  });

  const run = (id: string): RunMeasure => measured(theLesson, id, { ...textbook, attemptSeed: '1' }, cache);
  const at = (thresholdUv: number) => laneOf(run('tomas'), `threshold-rejection@${thresholdUv}`);

  it('the residual noise is U-shaped in the threshold: it falls from ±4 µV to ±8 µV and rises again, by 3 standard errors', () => {
    // ±5 against ±8 µV is left out: 24 patients cannot tell these two with such certainty.
    for (const [worse, better] of [
      [4, 5],
      [4, 8],
      [30, 8],
      [50, 30],
      [100, 50],
    ]) {
      const { value, error } = jackknife(
        24,
        (kept) => rmsOf(at(worse).noiseNv, kept) / rmsOf(at(better).noiseNv, kept),
      );
      expect(value - 3 * error, `±${worse} against ±${better} µV`).toBeGreaterThan(1);
    }
  });

  it('the bottom is flat: ±7 to ±15 µV are within 1.1 times the lowest, give or take 3 standard errors', () => {
    for (const thresholdUv of [7, 8, 10, 12, 15]) {
      const { value, error } = jackknife(24, (kept) => {
        const lowest = Math.min(...[6, 7, 8, 10, 12, 15].map((other) => rmsOf(at(other).noiseNv, kept)));
        return rmsOf(at(thresholdUv).noiseNv, kept) / lowest;
      });
      expect(value, `±${thresholdUv} µV`).toBeLessThan(1.1 + 3 * error);
    }
  });

  it('a tight line shrinks the response, a middling one does not, by 3 standard errors', () => {
    const tight = jackknife(24, (kept) => meanOf(at(4).gain, kept));
    const middling = jackknife(24, (kept) => meanOf(at(8).gain, kept));
    expect(tight.value + 3 * tight.error).toBeLessThan(0.95);
    expect(Math.abs(middling.value - 1)).toBeLessThan(3 * middling.error);
  });

  it('±8 µV, good for Tomas, shrinks a 6 µV response', () => {
    const large = laneOf(run('large'), 'threshold-rejection@8');
    const { value, error } = jackknife(24, (kept) => meanOf(large.gain, kept));
    expect(value + 3 * error).toBeLessThan(0.95);
  });
});
