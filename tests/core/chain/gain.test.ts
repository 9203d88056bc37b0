import { describe, expect, it } from 'vitest';
import { gainOf } from '../../../src/core/chain/gain.ts';

describe('gainOf', () => {
  it.each([
    [50, 100_000, 'click ABR'],
    [200, 25_000, 'middle latency'],
    [1000, 5000, 'cVEMP'],
  ])('±%d µV: %d', (rangeUv, gain, why) => {
    expect(gainOf(rangeUv), why).toBe(gain);
  });

  it.each([0, -1, Number.NaN])('refuses %d', (rangeUv) => {
    expect(() => gainOf(rangeUv)).toThrow(new RangeError(`gainOf: rangeUv must be > 0, got ${rangeUv}`));
  });
});
