import { describe, expect, it } from 'vitest';
import { decibels, estimatedSnr, signalToNoiseDb, snrOfSplit } from '../../../src/core/quality/signalToNoise.ts';
import { splitCorrelation } from '../../../src/core/quality/splitCorrelation.ts';
import { mean, standardError } from '../sampleStatistics.ts';
import { whiteSweeps } from './whiteSweeps.ts';

const of = (...values: number[]) => Float64Array.from(values);

describe('signalToNoiseDb', () => {
  it.each([
    [[1, -1], 0.1, 20, 'ten times as large'],
    [[1, -1], 1, 0, 'as large'],
    [[0, 0], 1, -Infinity, 'no response'],
    [[1, -1], 0, Infinity, 'no noise'],
    [[NaN, 1], 1, NaN, 'NaN is passed on'],
  ])('of %j in %d µV: %d dB (%s)', (truth, noise, expected) => {
    const value = signalToNoiseDb(of(...truth), noise, 0, 2);
    if (Number.isFinite(expected)) expect(value).toBeCloseTo(expected, 10);
    else expect(value).toBe(expected);
  });

  it('refuses an impossible window', () => {
    expect(() => signalToNoiseDb(of(1), 1, 1, 1)).toThrow(/^signalToNoiseDb: window/);
    expect(decibels(-1)).toBeNaN();
  });
});

describe('estimatedSnr and snrOfSplit', () => {
  it('by hand', () => {
    expect(estimatedSnr(of(2, -2), 1)).toBeCloseTo(Math.sqrt(3), 12);
    expect(estimatedSnr(of(0.5, -0.5), 1)).toBe(0); // smaller than the noise alone
    expect(estimatedSnr(of(1, -1), NaN)).toBeNaN();
    expect(estimatedSnr(of(1, -1), 0)).toBeNaN();
    expect([snrOfSplit(0.5), snrOfSplit(-0.2), snrOfSplit(1), snrOfSplit(NaN)]).toEqual([2, 0, Infinity, NaN]);
  });

  it('agree with the truth: response 0.5 µV rms in an average with 0.25 µV of noise, 300 runs', () => {
    const LENGTH = 60;
    const responseUv = (i: number) => Math.SQRT1_2 * Math.sin((2 * Math.PI * i) / LENGTH);
    const bySize: number[] = [];
    const bySplit: number[] = [];
    for (let r = 0; r < 300; r++) {
      const [a, b] = whiteSweeps(`snr/${r}`, 2, LENGTH, () => 0.25 * Math.SQRT2, responseUv);
      bySize.push(
        estimatedSnr(
          a.map((value, i) => (value + b[i]) / 2),
          0.25,
        ) ** 2,
      ); // prettier-ignore
      bySplit.push(splitCorrelation(a, b, 0, LENGTH));
    }
    // The variance is taken about the mean of 60 points: 1/60 of the noise power goes with it.
    expect(Math.abs(mean(bySize) - (4 - 1 / 60))).toBeLessThan(4 * standardError(bySize));
    // r is the mean of a ratio: biased by about −r(1 − r²)/2n = 0.3 %, so its SNR² by 1 %.
    const r = mean(bySplit);
    expect(Math.abs(snrOfSplit(r) - 4)).toBeLessThan((4 * standardError(bySplit) * 2) / (1 - r) ** 2 + 0.05);
  });
});
