import { describe, expect, it } from 'vitest';
import { parabola } from '../../../src/core/reading/parabola.ts';

const of = (...values: number[]) => Float64Array.from(values);

describe('parabola', () => {
  it('goes through three samples exactly', () => {
    expect(parabola(of(1, 2, 1), 1, 1, 1000)).toEqual({ valueUv: 2, slopeUvPerMs: 0, curvatureUvPerMs2: -2 });
    const tilted = parabola(of(0, 3, 4), 1, 1, 1000);
    expect([tilted.valueUv, tilted.slopeUvPerMs, tilted.curvatureUvPerMs2]).toEqual([3, 2, -2]);
  });

  it.each([1, 2, 5])('finds a true parabola whatever its width (h = %i), in units of time', (half) => {
    // y = 3 − 2·(t − 0.4)² with t in ms at 4 samples a ms
    const trace = Float64Array.from({ length: 21 }, (_, i) => 3 - 2 * ((i - 10) / 4 - 0.4) ** 2);
    const fit = parabola(trace, 10, half, 4000);
    expect(fit.curvatureUvPerMs2).toBeCloseTo(-4, 10);
    expect(-fit.slopeUvPerMs / fit.curvatureUvPerMs2).toBeCloseTo(0.4, 10);
    expect(fit.valueUv).toBeCloseTo(3 - 2 * 0.16, 10);
  });

  it('five samples weigh as the textbook says: (−3, 12, 17, 12, −3)/35 (Savitzky & Golay 1964)', () => {
    const weights = [0, 1, 2, 3, 4].map((k) => parabola(of(0, 0, 0, 0, 0).fill(1, k, k + 1), 2, 2, 1000).valueUv);
    for (const [k, weight] of [-3, 12, 17, 12, -3].entries()) expect(weights[k]).toBeCloseTo(weight / 35, 12);
  });

  it('passes NaN on, beyond the ends too', () => {
    expect(parabola(of(1, NaN, 1), 1, 1, 1000).valueUv).toBeNaN();
    expect(parabola(of(1, 2, 1), 0, 1, 1000).curvatureUvPerMs2).toBeNaN();
    expect(() => parabola(of(1), 0, 0, 1000)).toThrow(
      new RangeError('parabola: half must be a whole number >= 1, got 0'),
    );
  });
});
