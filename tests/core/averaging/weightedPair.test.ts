import { describe, expect, it } from 'vitest';
import { weightedPair } from '../../../src/core/averaging/weightedPair.ts';
import { nextGaussian, nextUniform, stream } from '../../../src/core/random/stream.ts';

const of = (...values: number[]) => Float64Array.from(values);

function contents(pair: ReturnType<typeof weightedPair>, length: number) {
  const [whole, bufferA, bufferB] = [0, 0, 0].map(() => new Float64Array(length));
  pair.read(whole);
  pair.readPair(bufferA, bufferB);
  return { whole: Array.from(whole), bufferA: Array.from(bufferA), bufferB: Array.from(bufferB) };
}

describe('weightedPair', () => {
  it('is NaN and 0 while empty, each buffer on its own', () => {
    const pair = weightedPair(1);
    expect(contents(pair, 1)).toEqual({ whole: [NaN], bufferA: [NaN], bufferB: [NaN] });
    expect([pair.weightSum(), pair.usedCount(), pair.effectiveCount()]).toEqual([0, 0, 0]);
    pair.add(of(5), 2, true);
    expect(contents(pair, 1)).toEqual({ whole: [5], bufferA: [5], bufferB: [NaN] });
  });

  it('by hand: weights 1 and 3 in A, 2 in B', () => {
    const pair = weightedPair(2);
    pair.add(of(4, 0), 1, true);
    pair.add(of(8, 4), 3, true);
    pair.add(of(1, -3), 2, false);
    expect(contents(pair, 2)).toEqual({ whole: [5, 1], bufferA: [7, 3], bufferB: [1, -3] });
    expect(pair.weightSum()).toBe(6);
    expect(pair.usedCount()).toBe(3);
    expect(pair.effectiveCount()).toBeCloseTo(36 / 14, 12);
  });

  it.each([[0], [-1], [NaN]])('a weight of %d counts for nothing', (weight) => {
    const pair = weightedPair(1);
    pair.add(of(4), 1, true);
    pair.add(of(1e9), weight, true);
    expect(contents(pair, 1).whole).toEqual([4]);
    expect([pair.usedCount(), pair.effectiveCount(), pair.weightSum()]).toEqual([1, 1, 1]);
  });

  it('n equal weights count as n, one heavy one as little more than one', () => {
    const pair = weightedPair(1);
    for (let k = 0; k < 10; k++) pair.add(of(1), 0.7, k % 2 === 0);
    expect(pair.effectiveCount()).toBeCloseTo(10, 12);
    pair.add(of(1), 1000, true);
    expect(pair.effectiveCount()).toBeCloseTo(1007 ** 2 / (10 * 0.49 + 1e6), 9);
  });

  it('fade: by hand, the past counts half', () => {
    const pair = weightedPair(1);
    pair.add(of(0), 1, true);
    pair.add(of(6), 1, false);
    pair.fade(0.5);
    pair.add(of(12), 1, true);
    expect(contents(pair, 1)).toEqual({ whole: [(0.5 * 6 + 12) / 2], bufferA: [8], bufferB: [6] });
    expect(pair.weightSum()).toBeCloseTo(2, 12);
    expect(pair.effectiveCount()).toBeCloseTo(4 / 1.5, 12);
    expect(pair.usedCount(), 'fading does not take a sweep out').toBe(3);
  });

  // 5000 sweeps: at 0.7 all in all e^(−1800) is faded away, many times what a double can hold.
  it.each([[0.7], [0.99], [1e-12], [1]])('fading by about %d each time gives what the definition gives', (strength) => {
    const draws = stream('7', 'test/pair');
    const pair = weightedPair(1);
    const kept: { value: number; weight: number; toA: boolean }[] = [];
    for (let k = 0; k < 5000; k++) {
      const factor = strength === 1 ? 1 : strength * (0.9 + 0.1 * nextUniform(draws));
      const entry = { value: nextGaussian(draws), weight: 0.1 + nextUniform(draws), toA: k % 4 < 2 };
      pair.fade(factor);
      for (const old of kept) old.weight *= factor;
      pair.add(of(entry.value), entry.weight, entry.toA);
      kept.push(entry);
      if (kept.length > 2000 && strength < 1) kept.shift();
      if (k % 500 !== 499) continue;
      const meanOf = (entries: typeof kept) =>
        entries.reduce((sum, { value, weight }) => sum + weight * value, 0) /
        entries.reduce((sum, { weight }) => sum + weight, 0);
      const { whole, bufferA, bufferB } = contents(pair, 1);
      expect(whole[0]).toBeCloseTo(meanOf(kept), 9);
      expect(bufferA[0]).toBeCloseTo(meanOf(kept.filter(({ toA }) => toA)), 9);
      expect(bufferB[0]).toBeCloseTo(meanOf(kept.filter(({ toA }) => !toA)), 9);
      const sum = kept.reduce((total, { weight }) => total + weight, 0);
      const squares = kept.reduce((total, { weight }) => total + weight * weight, 0);
      expect(pair.weightSum()).toBeCloseTo(sum, 9);
      expect(pair.effectiveCount()).toBeCloseTo((sum * sum) / squares, 9);
    }
  });

  it.each([[0], [-1], [NaN]])('refuses sweeps of %d samples', (count) => {
    expect(() => weightedPair(count)).toThrow(
      new RangeError(`weightedPair: samplesPerSweep must be > 0, got ${count}`),
    );
  });
});
