import { describe, expect, it } from 'vitest';
import { sweepScatter } from '../../../src/core/quality/sweepScatter.ts';
import { mean, standardError } from '../sampleStatistics.ts';
import { whiteSweeps } from './whiteSweeps.ts';

const of = (...values: number[]) => Float64Array.from(values);

describe('sweepScatter', () => {
  const cases = [
    // sweeps, weights, average, noise µV, why
    [[[0], [2]], [1, 1], 1, 1, 'by hand: Σ(x − 1)² = 2, over 2·1'],
    [[[0], [2]], [5, 5], 1, 1, 'a common factor of the weights cancels'],
    [[[0], [0], [3]], [1, 1, 1], 1, 1, 'by hand: 6/(3·2)'],
    [[[0], [4]], [1, 3], 3, Math.sqrt(18 / 16 / (1 - 10 / 16)), 'by hand: (9 + 9·1)/16 · n/(n − 1), n = 16/10'],
    [[[7], [7], [7]], [1, 1, 1], 7, 0, 'identical sweeps leave nothing'],
    [[[1e6 + 0.1], [1e6 + 0.1]], [1, 3], 1e6 + 0.1, 0, 'nor do large ones, in spite of rounding'],
    [[[5]], [1], 5, NaN, 'one sweep cannot tell'],
    [[[5], [9]], [1, 0], 5, NaN, 'a weight of 0 is no sweep'],
    [[], [], NaN, NaN, 'nothing yet'],
    [[[NaN], [1]], [1, 1], NaN, NaN, 'NaN is passed on'],
  ] as const;
  it.each(cases)('of %j with weights %j: %d ± %d', (sweeps, weights, average, noise, why) => {
    const scatter = sweepScatter(1);
    for (const [k, sweep] of sweeps.entries()) scatter.add(of(...sweep), weights[k]);
    const out = of(0);
    scatter.read(out);
    if (Number.isNaN(average)) expect(out[0], why).toBeNaN();
    else expect(out[0], why).toBeCloseTo(average, 9);
    if (Number.isNaN(noise)) expect(scatter.noiseUv(0, 1), why).toBeNaN();
    else expect(scatter.noiseUv(0, 1), why).toBeCloseTo(noise, 12);
  });

  it('claims what is true for inverse-variance weights: 200 runs, 4 standard errors', () => {
    const size = (k: number) => (k % 3 === 0 ? 5 : 1);
    const claims: number[] = [];
    const truths: number[] = [];
    for (let r = 0; r < 200; r++) {
      const scatter = sweepScatter(20);
      for (const [k, sweepUv] of whiteSweeps(`scatter/${r}`, 60, 20, size).entries()) {
        scatter.add(sweepUv, 1 / size(k) ** 2);
      }
      const out = new Float64Array(20);
      scatter.read(out);
      claims.push(scatter.noiseUv(0, 20) ** 2);
      truths.push(mean(Array.from(out, (value) => value * value)));
    }
    const expected = 1 / (40 + 20 / 25);
    expect(Math.abs(mean(claims) - expected)).toBeLessThan(4 * standardError(claims) + 0.001 * expected);
    expect(Math.abs(mean(truths) - expected)).toBeLessThan(4 * standardError(truths));
  });

  it('does not mind the order of sweeps, nor a response that all share', () => {
    const sweeps = whiteSweeps('order', 50, 8, () => 3);
    const forward = sweepScatter(8);
    const backward = sweepScatter(8);
    for (const sweepUv of sweeps) forward.add(sweepUv);
    for (const sweepUv of [...sweeps].reverse()) backward.add(sweepUv.map((value) => value + 40));
    expect(Math.abs(backward.noiseUv(0, 8) / forward.noiseUv(0, 8) - 1)).toBeLessThan(1e-10);
  });

  it('refuses an impossible window and length', () => {
    expect(() => sweepScatter(0)).toThrow(new RangeError('sweepScatter: samplesPerSweep must be > 0, got 0'));
    expect(() => sweepScatter(4).noiseUv(2, 5)).toThrow(/^noiseUv: window must lie within 0 to 4, got 2 to 5$/);
  });
});
