import { describe, expect, it } from 'vitest';
import { meanOf, overReplicates, rmsOf } from '../../../src/core/quality/replicates.ts';
import { nextGaussian, stream } from '../../../src/core/random/stream.ts';

describe('rmsOf and meanOf', () => {
  const values = [3, 4, NaN, -1];
  const cases = [
    // chosen, rms, mean, why
    [[0, 1], Math.sqrt(12.5), 3.5, 'by hand'],
    [[0, 0, 0], 3, 3, 'the same again and again'],
    [[3], 1, -1, 'one, negative'],
    [[0, 2], NaN, NaN, 'NaN is passed on'],
    [[], NaN, NaN, 'nothing chosen'],
  ] as const;
  it.each(cases)('of %j: %d and %d', (chosen, expectedRms, expectedMean, why) => {
    expect(rmsOf(values, chosen), why).toBe(expectedRms);
    expect(meanOf(values, chosen), why).toBe(expectedMean);
  });
});

describe('overReplicates', () => {
  it('value is the figure over all replicates, each once and in order', () => {
    let first: number[] = [];
    const { value } = overReplicates(5, (chosen) => {
      if (first.length === 0) first = Array.from(chosen);
      return chosen.length;
    });
    expect(first).toEqual([0, 1, 2, 3, 4]);
    expect(value).toBe(5);
  });

  it('draws replicates with replacement, all of them equally often: 4 standard errors', () => {
    const counts = new Float64Array(8);
    let calls = 0;
    overReplicates(8, (chosen) => {
      if (calls++ > 0) for (let k = 0; k < chosen.length; k++) counts[chosen[k]]++;
      return 0;
    });
    const draws = 8 * (calls - 1);
    expect(calls).toBeGreaterThan(500);
    for (const count of counts) expect(Math.abs(count - draws / 8)).toBeLessThan(4 * Math.sqrt(draws / 8));
  });

  it.each([[1], [2]])('gives no interval for %i replicates', (count) => {
    const expected = overReplicates(count, () => 7);
    expect(expected).toEqual({ value: 7, low: NaN, high: NaN });
  });

  it('is reproducible, and holds the value between low and high', () => {
    const gains = [0.9, 1.1, 1, 0.95, 1.3, 0.7];
    const figure = (chosen: ArrayLike<number>) => meanOf(gains, chosen);
    const expected = overReplicates(6, figure);
    expect(overReplicates(6, figure)).toEqual(expected);
    expect(expected.low).toBeLessThan(expected.value);
    expect(expected.high).toBeGreaterThan(expected.value);
    expect(expected.low).toBeGreaterThan(0.7);
    expect(expected.high).toBeLessThan(1.3);
  });

  it('has no width for a figure that does not scatter', () => {
    expect(overReplicates(10, () => 3)).toEqual({ value: 3, low: 3, high: 3 });
  });

  it('counts a figure that cannot be told (NaN) as large: the upper end is open, the lower stands', () => {
    // Half of the replicates never arrive: figures are NaN as soon as one of those is drawn.
    const arrival = [10, 11, 12, NaN];
    const { low, high } = overReplicates(4, (chosen) => meanOf(arrival, chosen));
    expect(low).toBeGreaterThanOrEqual(10);
    expect(low).toBeLessThan(13);
    expect(high).toBe(Infinity);
  });

  it.each([[0], [-1], [NaN]])('refuses %d replicates', (count) => {
    expect(() => overReplicates(count, () => 0)).toThrow(
      new RangeError(`overReplicates: count must be >= 1, got ${count}`),
    );
  });

  // Percentiles alone cover 73, 81, 89 and 91 % for 3, 4, 8 and 16 values. 1000 experiments: standard error 0.7 %.
  it.each([
    [3, 0.9],
    [4, 0.93],
    [8, 0.93],
    [16, 0.93],
  ])('its interval over %i replicates holds the true mean in %d of experiments or more', (count, least) => {
    const draws = stream('9', 'test/few');
    let covered = 0;
    for (let k = 0; k < 1000; k++) {
      const values = Float64Array.from({ length: count }, () => nextGaussian(draws));
      const { low, high } = overReplicates(count, (chosen) => meanOf(values, chosen));
      if (low <= 0 && 0 <= high) covered++;
    }
    expect(covered / 1000).toBeGreaterThanOrEqual(least);
    expect(covered / 1000).toBeLessThan(0.95 + 4 * 0.007);
  });

  it('has no end below 0 for a figure that cannot be', () => {
    const noise = [1, 1, 30];
    const { low, high } = overReplicates(3, (chosen) => meanOf(noise, chosen));
    expect(low).toBe(0);
    expect(high).toBeGreaterThan(30);
  });

  // 600 experiments: standard error 1.1 %.
  it.each([
    ['mean', meanOf, 2],
    ['root mean square', rmsOf, Math.sqrt(5)],
  ] as const)('its interval holds the true %s in about 95 %% of experiments', (_name, figureOf, truth) => {
    const draws = stream('7', 'test/coverage');
    let covered = 0;
    for (let k = 0; k < 600; k++) {
      const values = Float64Array.from({ length: 20 }, () => 2 + nextGaussian(draws)); // mean 2, rms √5
      const { low, high } = overReplicates(20, (chosen) => figureOf(values, chosen));
      if (low <= truth && truth <= high) covered++;
    }
    expect(covered / 600).toBeGreaterThan(0.95 - 0.01 - 4 * 0.009);
    expect(covered / 600).toBeLessThan(0.95 + 4 * 0.009);
  });
});
