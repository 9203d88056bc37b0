import { describe, expect, it } from 'vitest';
import { caseOf, runOf } from '../../src/lessons/lessonRun.ts';
import { lesson } from './lessonFolders.ts';
import { jackknife, laneOf, measureNow, SLOW } from './marking.ts';
import { textbookRun } from './outcomeClaims.ts';

const theLesson = lesson('staircase-of-whispers');
const { mark, lane } = textbookRun('staircase-of-whispers');

/** Readings of one peak, patient by patient. */
const peaks = (run: string, name: string) =>
  lane(run, 'block-weighting').readings.map((reading) => reading.peaks.find((peak) => peak.name === name));
const median = (values: readonly number[]) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];
const latencyMs = (run: string) => median(peaks(run, 'V').map((peak) => peak?.latencyMs ?? NaN));
const clearShare = (run: string) => {
  const clear = peaks(run, 'I').map((peak) => (peak?.clear ? 1 : 0) as number);
  return jackknife(clear.length, (kept) => kept.reduce((sum, r) => sum + clear[r], 0) / kept.length);
};

describe('A staircase of whispers', () => {
  it('a textbook learner does well', SLOW, () => {
    expect(mark().points).toBeGreaterThanOrEqual(80);
  });

  it('wave I stands at 85 dB and is gone at 45 dB, by 3 standard errors', () => {
    const loud = clearShare('right-85');
    const soft = clearShare('right-45');
    expect(loud.value - 3 * loud.error).toBeGreaterThan(0.5);
    expect(soft.value + 3 * soft.error).toBeLessThan(0.5);
  });

  it('a conductive loss is late where it is loud, a sloping one is not', () => {
    expect(latencyMs('conductive-85') - latencyMs('right-85')).toBeGreaterThan(0.25);
    expect(latencyMs('sloping-85') - latencyMs('right-85')).toBeLessThan(0.25);
  });

  it('88 s at the lowest step place wave V rightly more often than 15 s, by 3 standard errors', SLOW, () => {
    const run = runOf(theLesson, 'left-45');
    const seed = ['1', '2', '3', '4', '5', '6', '7', '8'].find((s) => caseOf(theLesson, run, s)?.id === 'conductive');
    expect(seed).toBeDefined();
    const right = (seconds: number) => {
      const settings = { ...theLesson.players.textbook.settings, 'at-45': seconds };
      const attempt = { settings, answers: {}, attemptSeed: seed ?? '' };
      const measure = measureNow(theLesson, 'left-45', attempt, ['block-weighting'], true);
      return laneOf(measure, 'block-weighting').readings.map(({ peaks }): number => {
        const peak = peaks.find(({ name }) => name === 'V');
        return peak && Math.abs(peak.latencyMs - peak.truthMs) <= 0.25 ? 1 : 0;
      });
    };
    const long = right(88);
    const short = right(15);
    const { value, error } = jackknife(
      long.length,
      (kept) => kept.reduce((sum, r) => sum + long[r] - short[r], 0) / kept.length,
    );
    expect(value - 3 * error).toBeGreaterThan(0);
  });
});
