import { describe, expect, it } from 'vitest';
import { plusMinus, splitHalfNoiseUv } from '../../../src/core/quality/plusMinus.ts';
import { mean, standardError } from '../sampleStatistics.ts';
import { whiteSweeps } from './whiteSweeps.ts';

const of = (...values: number[]) => Float64Array.from(values);

describe('splitHalfNoiseUv', () => {
  const cases = [
    // A, B, share of A, expected µV, why
    [[3, 3], [3, 3], 0.5, 0, 'identical buffers leave nothing'],
    [[1, 1], [0, 2], 0.5, 0.5, 'by hand: half-differences ±0.5'],
    [[0, 0], [4, -4], 0.25, Math.sqrt(3), 'by hand: 16·¼·¾'],
    [[0, 0], [4, -4], 1, 0, 'all of it in A: B says nothing'],
    [[1, NaN], [0, 2], 0.5, NaN, 'NaN is passed on'],
    [[1, 1], [0, 2], NaN, NaN, 'an unknown share too'],
  ] as const;
  it.each(cases)('of %j and %j, share %d: %d', (a, b, share, expected, why) => {
    const value = splitHalfNoiseUv(of(...a), of(...b), 0, 2, share);
    if (Number.isNaN(expected)) expect(value, why).toBeNaN();
    else expect(value, why).toBeCloseTo(expected, 12);
  });

  it('refuses an impossible window or share', () => {
    expect(() => splitHalfNoiseUv(of(1), of(1), 0, 2)).toThrow(/^splitHalfNoiseUv: window/);
    expect(() => splitHalfNoiseUv(of(1), of(1), 0, 1, 1.5)).toThrow(/^splitHalfNoiseUv: shareA must lie within 0 to 1/);
  });
});

describe('plusMinus', () => {
  it.each(['sweeps', 'pairs'] as const)('by %s finds the noise of the mean, odd counts too: 300 runs', (turn) => {
    const powers: number[] = [];
    for (let r = 0; r < 300; r++) {
      const reference = plusMinus(16, turn);
      for (const [k, sweepUv] of whiteSweeps(
        `plus/${r}`,
        41,
        16,
        () => 3,
        () => 7,
      ).entries())
        reference.add(sweepUv, k);
      powers.push(reference.noiseUv(0, 16) ** 2);
    }
    expect(Math.abs(mean(powers) - 9 / 41)).toBeLessThan(4 * standardError(powers));
  });

  it('is blind to a hum that locks and over-alarmed by one that alternates with its turns', () => {
    const play = (turn: 'sweeps' | 'pairs', sign: (k: number) => number) => {
      const reference = plusMinus(1, turn);
      for (let k = 0; k < 40; k++) reference.add(of(sign(k)), k);
      return reference.noiseUv(0, 1);
    };
    const half = (k: number) => (k % 2 ? -1 : 1);
    const quarter = (k: number) => (k % 4 < 2 ? 1 : -1);
    expect(play('sweeps', () => 1)).toBe(0);
    expect(play('sweeps', half)).toBe(1); // the mean of such sweeps is 0
    expect(play('pairs', half)).toBe(0);
    expect(play('pairs', quarter)).toBe(1);
  });

  it('cannot tell from one buffer', () => {
    const reference = plusMinus(2, 'sweeps');
    reference.add(of(1, 2), 0);
    expect(reference.noiseUv(0, 2)).toBeNaN();
    expect(() => plusMinus(0, 'pairs')).toThrow(new RangeError('plusMinus: samplesPerSweep must be > 0, got 0'));
  });
});
