import { describe, expect, it } from 'vitest';
import { onsetPauses } from '../../../src/core/noise/onsetPauses.ts';
import { stream } from '../../../src/core/random/stream.ts';
import { correlation, mean, standardDeviation, variance } from '../sampleStatistics.ts';

/** Counts onsets in windows of equal length. */
function windowCounts(onsetsPerS: number, clustering: number, windowS: number, windowCount: number): number[] {
  const pauseS = onsetPauses(stream('3', 'test/onsets'), onsetsPerS, clustering);
  const counts = new Array<number>(windowCount).fill(0);
  for (let atS = pauseS(); atS < windowS * windowCount; atS += pauseS()) counts[Math.floor(atS / windowS)]++;
  return counts;
}

describe('onsetPauses', () => {
  it('is Poisson without clustering: mean, spread and independence of pauses within 4 standard errors', () => {
    const pauseS = onsetPauses(stream('5', 'test/onsets'), 0.25, 0);
    const pauses = Array.from({ length: 20_000 }, pauseS);
    const root = Math.sqrt(pauses.length);
    expect(Math.abs(mean(pauses) - 4)).toBeLessThan((4 * 4) / root);
    expect(Math.abs(standardDeviation(pauses) - 4)).toBeLessThan((4 * Math.SQRT2 * 4) / root);
    expect(Math.abs(correlation(pauses, pauses, 1))).toBeLessThan(4 / root);
  });

  it.each([0, 0.3, 0.6])('keeps its mean rate and spreads counts by 1/(1 − n)² with clustering %f', (clustering) => {
    // Hawkes process: in windows long against its memory, variance/mean of counts is 1/(1 − n)² (from memory: A. G.
    // Hawkes 1971). Windows of 600 s against a memory of 3 s/(1 − n): the edge effect is below 2 %.
    const windowCount = 2000;
    const counts = windowCounts(0.2, clustering, 600, windowCount);
    const dispersion = 1 / (1 - clustering) ** 2;
    const se = Math.sqrt((0.2 * 600 * dispersion) / windowCount);
    expect(Math.abs(mean(counts) - 0.2 * 600)).toBeLessThan(4 * se);
    const relative = variance(counts) / mean(counts) / dispersion;
    expect(Math.abs(relative - 1)).toBeLessThan(4 * Math.sqrt(2 / windowCount) + 0.02);
  });
});
