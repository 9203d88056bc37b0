import { describe, expect, it } from 'vitest';
import { pickupByPath } from '../../src/core/noise/pickupPaths.ts';
import { resolveScenario } from '../../src/core/scenario/resolve.ts';
import { documentOf, runOf, startSettings } from '../../src/lessons/lessonRun.ts';
import { lesson } from './lessonFolders.ts';
import { SLOW } from './marking.ts';
import { textbookRun } from './outcomeClaims.ts';

const { mark, lane, noiseRatio, noiseAcross } = textbookRun('electric-storm');

describe('Bedside in the electric storm', () => {
  it('a textbook learner does well', SLOW, () => {
    expect(mark().points).toBeGreaterThanOrEqual(85);
  });

  it.each([50, 60] as const)('at %d Hz two doors together are worth far more than the two added', (lineHz) => {
    const theLesson = lesson('electric-storm', lineHz);
    const uv = (run: string) => {
      const scenario = resolveScenario(documentOf(theLesson, runOf(theLesson, run), startSettings(theLesson)));
      return Math.hypot(...pickupByPath(scenario).map(({ totalUv }) => totalUv[0]));
    };
    const worthDb = (run: string) => 20 * Math.log10(uv('found') / uv(run));
    expect(worthDb('prepared') + worthDb('bunched')).toBeLessThan(9);
    expect(worthDb('prepared-bunched')).toBeGreaterThan(18);
    expect(worthDb('at-head')).toBeGreaterThan(24);
    expect(worthDb('on-battery')).toBeLessThan(0.1);
  });

  it('the notch leaves more than half of the error, and rejection no sweep at all', () => {
    const notch = noiseAcross(['notched', 'plain-mean'], ['found', 'plain-mean']);
    expect(notch.value).toBeGreaterThan(0.5);
    expect(lane('found', 'threshold-rejection').usedShare).toEqual([0, 0, 0]);
  });

  it('another rate keeps it from locking, by 3 standard errors, and is still far from a power cut', () => {
    const unlocked = noiseAcross(['moved-rate', 'plain-mean'], ['found', 'plain-mean']);
    expect(unlocked.value + 3 * unlocked.error).toBeLessThan(0.5);
    expect(Math.min(...lane('moved-rate', 'plain-mean').noiseNv)).toBeGreaterThan(
      1.4 * Math.max(...lane('silent', 'plain-mean').noiseNv.slice(0, 3)),
    );
  });

  it('with the doors closed the plain mean is as quiet as in a power cut, and weights add nothing', () => {
    const cured = noiseAcross(['bed', 'plain-mean'], ['silent', 'plain-mean']);
    expect(Math.abs(cured.value - 1)).toBeLessThan(Math.max(0.15, 3 * cured.error));
    const blocks = noiseRatio('bed', 'block-weighting', 'plain-mean');
    expect(Math.abs(blocks.value - 1)).toBeLessThan(Math.max(0.1, 3 * blocks.error));
  });
});
