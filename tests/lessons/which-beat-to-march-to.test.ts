import { describe, expect, it } from 'vitest';
import { meanOf, rmsOf } from '../../src/core/quality/replicates.ts';
import type { RunCache, RunMeasure } from '../../src/lessons/hiddenRuns.ts';
import { lesson } from './lessonFolders.ts';
import { jackknife, laneOf, markNow, measured, measureNow, SLOW } from './marking.ts';

const theLesson = lesson('which-beat-to-march-to');

const { settings, answers } = theLesson.players.textbook;
const attempt = { settings, answers, attemptSeed: '1' };
const cache: RunCache = new Map();

describe('Which beat to march to', () => {
  it('a textbook learner does well', SLOW, () => {
    expect(markNow(theLesson, attempt, cache).points).toBeGreaterThanOrEqual(80);
  });

  const run = (id: string): RunMeasure => measured(theLesson, id, attempt, cache);
  const ratio = (of: RunMeasure, ofLane: string, to: RunMeasure, toLane: string) =>
    jackknife(
      of.patientCount,
      (kept) => rmsOf(laneOf(of, ofLane).noiseNv, kept) / rmsOf(laneOf(to, toLane).noiseNv, kept),
    );

  it('at the locked rate weighting does not help: blocks are not quieter than the plain mean by 3 standard errors', () => {
    for (const id of ['rate-25', 'steady']) {
      const { value, error } = ratio(run(id), 'block-weighting', run(id), 'plain-mean');
      expect(value, id).toBeGreaterThan(1 - 3 * error);
      expect(value, id).toBeGreaterThan(0.85);
    }
  });

  it('locked hum is invisible to claim and halves: true noise over 20 times the claim, halves agree', () => {
    const { noiseNv, ownNoiseNv, splitCorrelation } = laneOf(run('steady'), 'plain-mean');
    const lie = jackknife(4, (kept) => rmsOf(noiseNv, kept) / rmsOf(ownNoiseNv, kept));
    expect(lie.value - 3 * lie.error).toBeGreaterThan(20);
    expect(meanOf(splitCorrelation, [0, 1, 2, 3])).toBeGreaterThan(0.95);
  });

  it('31/s is as quiet as a room without hum, within 3 standard errors', () => {
    const { value, error } = ratio(run('room'), 'plain-mean', run('no-hum'), 'plain-mean');
    expect(error).toBeLessThan(0.1);
    expect(Math.abs(value - 1)).toBeLessThan(3 * error);
  });

  it('one whole cycle of jitter does more at 25/s than half of one, by 3 standard errors', SLOW, () => {
    // Hum near a lock scatters widely between patients: take those of another attempt as well.
    const noiseNv = (id: string) =>
      [run(id), measureNow(theLesson, id, { ...attempt, attemptSeed: '2' }, ['plain-mean'])].flatMap(
        (measure) => laneOf(measure, 'plain-mean').noiseNv,
      );
    const half = noiseNv('jitter-5');
    const whole = noiseNv('jitter-10');
    const { value, error } = jackknife(half.length, (kept) => rmsOf(half, kept) / rmsOf(whole, kept));
    expect(value - 3 * error).toBeGreaterThan(1);
  });
});
