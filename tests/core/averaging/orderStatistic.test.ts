import { describe, expect, it } from 'vitest';
import { medianOf, selectRank } from '../../../src/core/averaging/orderStatistic.ts';
import { recentQuantile } from '../../../src/core/averaging/recentQuantile.ts';
import { nextUniform, stream } from '../../../src/core/random/stream.ts';

describe('selectRank and medianOf', () => {
  it('agree with sorting, many equal values included (200 lists)', () => {
    const draws = stream('1', 'test/ranks');
    for (let round = 0; round < 200; round++) {
      const count = 1 + Math.floor(40 * nextUniform(draws));
      const values = Float64Array.from({ length: count }, () => Math.floor(10 * nextUniform(draws)));
      const sorted = values.slice().sort();
      const rank = Math.floor(count * nextUniform(draws));
      expect(selectRank(values.slice(), rank, 0, count)).toBe(sorted[rank]);
      const middle = (sorted[(count - 1) >> 1] + sorted[count >> 1]) / 2;
      expect(medianOf(values.slice(), count)).toBe(middle);
    }
    expect(medianOf(new Float64Array(3), 0)).toBeNaN();
  });
});

describe('recentQuantile', () => {
  it('agrees with sorting the last values', () => {
    const draws = stream('2', 'test/recent');
    const all: number[] = [];
    const recent = recentQuantile(25);
    for (let k = 0; k < 300; k++) {
      all.push(Math.floor(20 * nextUniform(draws)));
      recent.add(all[k]);
      const last = all.slice(-25).sort((a, b) => a - b);
      for (const share of [0, 0.5, 0.9, 1])
        expect(recent.read(share)).toBe(last[Math.round(share * (last.length - 1))]);
    }
    recent.add(Number.NaN);
    expect(recent.count()).toBe(25);
    expect(() => recentQuantile(0)).toThrow('recentQuantile: memory must be a whole number >= 1, got 0');
  });
});
