import { describe, expect, it } from 'vitest';
import { groupedSweeps, readGroupNoiseUv2, readGroups } from '../../../src/core/quality/groupedSweeps.ts';
import { sweepScatter } from '../../../src/core/quality/sweepScatter.ts';
import { mean, standardError } from '../sampleStatistics.ts';
import { whiteSweeps } from './whiteSweeps.ts';

describe('groupedSweeps', () => {
  it.each([
    // sweeps, groups, sweeps per group, why
    [0, 0, 2, 'nothing yet'],
    [1, 0, 2, 'half a pair'],
    [2, 1, 2, 'one pair'],
    [256, 128, 2, 'full'],
    [257, 64, 4, 'joined; one sweep waits'],
    [258, 64, 4, 'joined; two sweeps wait'],
    [260, 65, 4, 'and go on'],
    [5000, 78, 64, 'joined five times'],
    [16384, 128, 128, 'full again'],
  ])('%i sweeps make %i groups of %i (%s)', (count, groupCount, sweepsPerGroup) => {
    const gatherer = groupedSweeps(0, 1);
    for (let k = 0; k < count; k++) gatherer.add(Float64Array.of(k));
    const groups = gatherer.groups();
    expect([groups.groupCount, groups.sweepsPerGroup]).toEqual([groupCount, sweepsPerGroup]);
    // Group g holds sweeps g·n … g·n + n − 1, in order.
    for (let g = 0; g < groupCount; g++) {
      expect(groups.sumsUv[g]).toBe(sweepsPerGroup * (g * sweepsPerGroup + (sweepsPerGroup - 1) / 2));
      expect(groups.weights[g]).toBe(sweepsPerGroup);
    }
  });

  it('keeps the weighted average of the window', () => {
    const sweeps = whiteSweeps('window', 1024, 10, () => 3);
    const weight = (k: number) => (k % 7 === 0 ? 0 : 1 + (k % 3));
    const gatherer = groupedSweeps(2, 9);
    const scatter = sweepScatter(10);
    for (const [k, sweepUv] of sweeps.entries()) {
      gatherer.add(sweepUv, weight(k));
      scatter.add(sweepUv, weight(k));
    }
    const fromGroups = new Float64Array(7);
    const whole = new Float64Array(10);
    readGroups(gatherer.groups(), fromGroups);
    scatter.read(whole);
    for (let i = 0; i < 7; i++) expect(fromGroups[i]).toBeCloseTo(whole[i + 2], 10);
  });

  it('tells the noise of the average as single sweeps do: 200 runs, 4 standard errors', () => {
    const powers: number[] = [];
    for (let r = 0; r < 200; r++) {
      const gatherer = groupedSweeps(0, 10);
      for (const sweepUv of whiteSweeps(
        `groups/${r}`,
        300,
        10,
        () => 2,
        () => 5,
      ))
        gatherer.add(sweepUv);
      const groups = gatherer.groups();
      const averageUv = new Float64Array(10);
      const noiseUv2 = new Float64Array(10);
      readGroups(groups, averageUv);
      readGroupNoiseUv2(groups, averageUv, noiseUv2);
      powers.push(mean(Array.from(noiseUv2)));
    }
    expect(Math.abs(mean(powers) - 4 / 300)).toBeLessThan(4 * standardError(powers));
  });

  it('cannot tell the noise of a single group, and refuses an empty window', () => {
    const gatherer = groupedSweeps(0, 1);
    for (let k = 0; k < 2; k++) gatherer.add(Float64Array.of(k));
    const noiseUv2 = new Float64Array(1);
    readGroupNoiseUv2(gatherer.groups(), Float64Array.of(0.5), noiseUv2);
    expect(noiseUv2[0]).toBeNaN();
    expect(() => groupedSweeps(3, 3)).toThrow(new RangeError('groupedSweeps: window must not be empty, got 3 to 3'));
  });

  it('gives copies: sweeps that come later change nothing', () => {
    const gatherer = groupedSweeps(0, 1);
    for (let k = 0; k < 20; k++) gatherer.add(Float64Array.of(k));
    const before = gatherer.groups();
    const sums = before.sumsUv.slice();
    for (let k = 0; k < 2000; k++) gatherer.add(Float64Array.of(k));
    expect(before.sumsUv).toEqual(sums);
  });
});
