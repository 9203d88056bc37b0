import { describe, expect, it } from 'vitest';
import { bessel } from '../../../src/core/chain/bessel.ts';
import { butterworth, filterCascade, type Section } from '../../../src/core/chain/filters.ts';

const RATE = 16000;

function stepThrough(sections: readonly Section[]): Float64Array {
  const step = new Float64Array(400).fill(1);
  filterCascade(sections).run(step, new Float64Array(400), 400);
  return step;
}

describe('bessel', () => {
  it.each([2, 3, 4, 6, 8])('order %i: a step hardly overshoots, where a Butterworth does', (order) => {
    const rounded = Math.max(...stepThrough(bessel('low-pass', order, 800, RATE)));
    const flat = Math.max(...stepThrough(butterworth('low-pass', order, 800, RATE)));
    expect(rounded).toBeLessThan(1.02); // below 0.9 % before the bilinear transform
    expect(flat).toBeGreaterThan(1.04);
  });

  it.each([
    ['order', 0, 100, 'bessel: order must be 1 to 8, got 0'],
    ['order', 9, 100, 'bessel: order must be 1 to 8, got 9'],
    ['order', 2.5, 100, 'bessel: order must be 1 to 8, got 2.5'],
    ['corner', 2, 0, 'bessel: cornerHz must lie between 0 and 8000 Hz, got 0'],
    ['corner', 2, 8000, 'bessel: cornerHz must lie between 0 and 8000 Hz, got 8000'],
    ['corner', 2, Number.NaN, 'bessel: cornerHz must lie between 0 and 8000 Hz, got NaN'],
  ] as const)('refuses a wrong %s: %d, %d', (_what, order, cornerHz, message) => {
    expect(() => bessel('low-pass', order, cornerHz, RATE)).toThrow(new RangeError(message));
  });
});
