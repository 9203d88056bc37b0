import { describe, expect, it } from 'vitest';
import { rmsOf } from '../../src/core/quality/replicates.ts';
import { computeFigure } from '../../src/lessons/figures.ts';
import type { RunCache, RunMeasure } from '../../src/lessons/hiddenRuns.ts';
import { lesson } from './lessonFolders.ts';
import { jackknife, laneOf, markNow, measured, SLOW } from './marking.ts';

const theLesson = lesson('quieter-by-the-root');

const { settings, answers } = theLesson.players.textbook;
const textbook = { settings, answers };
const seeds = ['1'];
const cache: RunCache = new Map();

describe('Quieter by the root', () => {
  it.each(seeds)('a textbook learner does well, attempt seed %s', SLOW, (attemptSeed) => {
    expect(markNow(theLesson, { ...textbook, attemptSeed }, cache).points).toBeGreaterThanOrEqual(80);
  });

  const run = (id: string): RunMeasure => measured(theLesson, id, { ...textbook, attemptSeed: '1' }, cache);
  /** A figure of the plain mean with only some of the patients. */
  const figureOf = (id: string, figure: 'slope' | 'sweeps-by-law', kept: number[]) => {
    const whole = run(id);
    const lanes = whole.lanes.map((lane) => ({ ...lane, curveNv: kept.map((r) => lane.curveNv[r]) }));
    const measures = new Map([[id, { ...whole, patientCount: kept.length, lanes }]]);
    const source = { lesson: theLesson, settings: textbook.settings, measures };
    return computeFigure({ figure, run: id, lane: 'plain-mean', targetNv: 40 } as never, source).value;
  };

  it('the residual noise of the plain mean falls as 1/√N: slope −½ within 3 standard errors', () => {
    const { value, error } = jackknife(24, (kept) => figureOf('ines', 'slope', kept));
    expect(error).toBeLessThan(0.05);
    expect(Math.abs(value + 0.5)).toBeLessThan(3 * error);
  });

  it('twice the noise costs four times the sweeps, within 3 standard errors', () => {
    const once = jackknife(24, (kept) => Math.log(figureOf('ines', 'sweeps-by-law', kept)));
    const twice = jackknife(12, (kept) => Math.log(figureOf('double', 'sweeps-by-law', kept)));
    const error = Math.sqrt(once.error ** 2 + twice.error ** 2);
    expect(error).toBeLessThan(0.25);
    expect(Math.abs(twice.value - once.value - Math.log(4))).toBeLessThan(3 * error);
  });

  it('nobody wins: every strategy ends within 3 standard errors, or a tenth, of the plain mean', () => {
    const plain = laneOf(run('ines'), 'plain-mean');
    for (const lane of run('ines').lanes) {
      const { value, error } = jackknife(24, (kept) => rmsOf(lane.noiseNv, kept) / rmsOf(plain.noiseNv, kept));
      expect(Math.abs(value - 1), lane.id).toBeLessThan(Math.max(0.1, 3 * error));
    }
  });
});
