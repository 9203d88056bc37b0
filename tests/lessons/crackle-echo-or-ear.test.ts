import { describe, expect, it } from 'vitest';
import { meanOf } from '../../src/core/quality/replicates.ts';
import { caseOf, runOf } from '../../src/lessons/lessonRun.ts';
import { lesson } from './lessonFolders.ts';
import { SLOW } from './marking.ts';
import { textbookRun } from './outcomeClaims.ts';

const theLesson = lesson('crackle-echo-or-ear');
const { mark, lane, noiseRatio, noiseAcross } = textbookRun('crackle-echo-or-ear');
const fmp = (run: string) => meanOf(lane(run, 'plain-mean').fmp, [0, 1, 2]);

describe('Crackle, echo or ear?', () => {
  it('a textbook learner does well, whoever has what', SLOW, () => {
    expect(mark().points).toBeGreaterThanOrEqual(85);
  });

  it('with the tube pinched the artefact stays, and nothing else', () => {
    expect(fmp('crackle-pinched')).toBeGreaterThan(50);
    for (const run of ['echo-pinched', 'twitch-pinched']) expect(fmp(run), run).toBeLessThan(2);
  });

  it('both polarities in turn cancel what turns over, and leave the reflex', () => {
    expect(fmp('crackle') / fmp('crackle-rarefaction')).toBeLessThan(0.05);
    expect(fmp('echo') / fmp('echo-rarefaction')).toBeLessThan(0.45);
    expect(fmp('twitch') / fmp('twitch-rarefaction')).toBeGreaterThan(0.9);
  });

  it('the far ear answers late, as to a faint click, and falls silent under noise', () => {
    const latenciesMs = lane('far-ear', 'plain-mean').readings.map(
      ({ peaks }) => peaks.find(({ name }) => name === 'V')?.latencyMs ?? NaN,
    );
    for (const latencyMs of latenciesMs) expect(latencyMs).toBeGreaterThan(6.8);
    expect(fmp('far-ear-masked')).toBeLessThan(2);
  });

  it('at the lobe the reflex is several times smaller', () => {
    const { value } = noiseAcross(['twitch', 'plain-mean'], ['twitch-lobe', 'plain-mean']);
    expect(value).toBeGreaterThan(6);
    expect(value).toBeLessThan(14);
  });

  it('a mean that follows itself takes one polarity for the response; pairs and blocks do not, by 3 standard errors', () => {
    const kalman = noiseRatio('loud-crackle', 'kalman', 'plain-mean');
    expect(kalman.value - 3 * kalman.error).toBeGreaterThan(3);
    for (const name of ['pair-balanced', 'block-weighting']) {
      const { value, error } = noiseRatio('loud-crackle', name, 'plain-mean');
      expect(Math.abs(value - 1), name).toBeLessThan(Math.max(0.1, 3 * error));
    }
  });

  it('over many attempts every patient has every case', () => {
    const seeds = Array.from({ length: 60 }, (_, k) => String(k));
    for (const letter of ['a', 'b', 'c', 'd', 'e']) {
      const run = runOf(theLesson, `patient-${letter}`);
      expect(new Set(seeds.map((seed) => caseOf(theLesson, run, seed)?.id)).size, letter).toBe(6);
    }
  });
});
