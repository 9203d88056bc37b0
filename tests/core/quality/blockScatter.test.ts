import { describe, expect, it } from 'vitest';
import { blockScatter } from '../../../src/core/quality/blockScatter.ts';
import { whiteSweeps } from './whiteSweeps.ts';

function watch(sweeps: Float64Array[], blockLength = 20) {
  const watcher = blockScatter(sweeps[0].length, blockLength);
  for (const sweepUv of sweeps) watcher.add(sweepUv);
  return watcher.correlation(0, sweeps[0].length, 10);
}

describe('blockScatter', () => {
  it('keeps its lamp dark for independent sweeps in 99 % of 200 recordings (within 4 standard errors)', () => {
    let warnings = 0;
    for (let r = 0; r < 200; r++) if (watch(whiteSweeps(`blocks/${r}`, 400, 10, () => 2)).warning) warnings++;
    expect(warnings).toBeLessThanOrEqual(2 + 4 * Math.sqrt(2));
  });

  it('lights it above 1 for sweeps that resemble their neighbours', () => {
    const sweeps = whiteSweeps('drift', 400, 10, () => 1);
    for (let k = 1; k < 400; k++) sweeps[k] = sweeps[k].map((value, i) => 0.8 * sweeps[k - 1][i] + 0.6 * value);
    const { ratio, high, warning } = watch(sweeps);
    expect(ratio).toBeGreaterThan(high);
    expect(ratio).toBeGreaterThan(2); // neighbours alike by 0.8: noise of the mean √((1 + 0.8)/(1 − 0.8)) = 3 times
    expect(ratio).toBeLessThan(4);
    expect(warning).toBe(true);
  });

  it('lights it below 1 for a hum at half-integer lock, and not at all for one that locks', () => {
    const hum = (alternate: boolean) =>
      whiteSweeps('hum', 400, 10, () => 1).map((sweepUv, k) =>
        sweepUv.map((value, i) => value + 5 * (alternate && k % 2 ? -1 : 1) * Math.sin(i)),
      );
    const half = watch(hum(true));
    expect(half.ratio).toBeLessThan(half.low);
    expect(half.warning).toBe(true);
    expect(watch(hum(false)).warning).toBe(false);
  });

  it('cannot tell before the third block', () => {
    const few = watch(whiteSweeps('few', 50, 10, () => 1));
    expect(few).toEqual({ ratio: NaN, low: NaN, high: NaN, warning: false, blockCount: 2 });
  });

  it.each([[1], [2.5], [NaN]])('refuses blocks of %d', (blockLength) => {
    expect(() => blockScatter(10, blockLength)).toThrow(
      new RangeError(`blockScatter: blockLength must be a whole number >= 2, got ${blockLength}`),
    );
  });
});
