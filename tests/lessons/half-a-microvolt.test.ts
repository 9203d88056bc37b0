import { describe, expect, it } from 'vitest';
import { SLOW } from './marking.ts';
import { textbookRun } from './outcomeClaims.ts';

const { mark, lane } = textbookRun('half-a-microvolt');

/** SP/AP by amplitude of each hidden patient of a run, with its interval and the truth by the same rule. */
function ratios(run: string, name = 'block-weighting') {
  return lane(run, name).readings.map(({ figures }) => {
    const read = figures.find((figure) => figure.name === 'SP/AP by amplitude');
    if (!read) throw new Error(`ratios: ${run} has no ratio`);
    return read;
  });
}
const meanOf = (values: number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
const trueRatio = (run: string) => meanOf(ratios(run).map(({ truth }) => truth));
const halfWidth = (run: string, name?: string) => meanOf(ratios(run, name).map(({ low, high }) => (high - low) / 2));

describe('Half a microvolt in the canal', () => {
  it('a textbook learner does well', SLOW, () => {
    expect(mark().points).toBeGreaterThanOrEqual(85);
  });

  it('from the canal nothing follows after 100 s; on the drum the interval is several times narrower', () => {
    expect(halfWidth('canal-well')).toBeGreaterThan(0.15);
    expect(halfWidth('wick-well')).toBeLessThan(0.06);
    expect(halfWidth('wick-well', 'plain-mean') / halfWidth('wick-well')).toBeGreaterThan(1.2);
  });

  it('the rule reads 0.22, 0.33 and 0.41 of components of 0.25, 0.42 and 0.60', () => {
    expect(trueRatio('wick-well')).toBeCloseTo(0.22, 1.7);
    expect(trueRatio('wick-between')).toBeCloseTo(0.33, 1.7);
    expect(trueRatio('wick-full')).toBeCloseTo(0.41, 1.7);
  });

  it('rate and corner move the true ratio of one and the same ear', () => {
    expect(trueRatio('fast-between')).toBeGreaterThan(0.37);
    expect(trueRatio('high-full') / trueRatio('wick-full')).toBeGreaterThan(1.06);
  });

  it('self-weights lower the ratio, by 3 standard errors; blocks do not', () => {
    const errors = (name: string) => ratios('wick-well', name).map(({ value, truth }) => value - truth);
    const standardError = (values: number[]) =>
      Math.sqrt(meanOf(values.map((value) => (value - meanOf(values)) ** 2)) / (values.length - 1));
    const self = errors('self-weighting');
    expect(meanOf(self) + 3 * standardError(self)).toBeLessThan(0);
    const blocks = errors('block-weighting');
    expect(Math.abs(meanOf(blocks))).toBeLessThan(3 * standardError(blocks));
  });

  it('two ears are called and the one between is not', () => {
    const lying = (run: string) => ratios(run).map(({ low, high }) => (low > 0.33 ? 1 : high < 0.33 ? -1 : 0));
    expect(lying('well').filter((side) => side === -1).length).toBeGreaterThanOrEqual(5);
    expect(lying('full').filter((side) => side === 1).length).toBeGreaterThanOrEqual(5);
    expect(lying('between').filter((side) => side === 0).length).toBeGreaterThanOrEqual(4);
  });
});
