import { describe, expect, it } from 'vitest';
import { efficiency } from '../../../src/core/quality/efficiency.ts';
import { regret } from '../../../src/core/quality/regret.ts';

const seconds = [10, 20, 30, 40];
const honest = [1, 1, 1, 1];
const plain = { noiseNv: Array.from({ length: 4 }, () => [80, 60, 50, 40]), gains: honest };

describe('efficiency', () => {
  it('compares noise in dB and times as a ratio: by hand', () => {
    const half = { noiseNv: plain.noiseNv.map((run) => run.map((value) => value / 2)), gains: honest };
    const { noiseDb, timeRatio, hollow } = efficiency(plain, half, seconds, 40);
    expect(noiseDb.value).toBeCloseTo(6.0206, 4);
    expect(timeRatio).toEqual({ value: 4, low: 4, high: 4 }); // 40 s against 10 s, in every replicate
    expect(hollow).toBe(false);
  });

  it('is 0 dB and 1 for the plain mean itself', () => {
    const { noiseDb, timeRatio } = efficiency(plain, plain, seconds, 50);
    expect(noiseDb.value).toBe(0);
    expect(timeRatio.value).toBe(1);
  });

  it.each([
    // target, plain arrives, strategy arrives, ratio
    [30, false, true, Infinity],
    [5, false, false, NaN],
  ])('tells who arrives at %i nV', (target, _plain, _strategy, ratio) => {
    const quieter = { noiseNv: plain.noiseNv.map(() => [40, 30, 25, 20]), gains: honest };
    expect(efficiency(plain, quieter, seconds, target).timeRatio.value).toBe(ratio);
    if (ratio === Infinity) expect(efficiency(quieter, plain, seconds, target).timeRatio.value).toBe(0);
  });

  it('is hollow where the mean gain lies outside 0.95 to 1.05, with one replicate too', () => {
    const shrunk = (gains: number[]) => efficiency(plain, { noiseNv: plain.noiseNv, gains }, seconds, 40).hollow;
    expect(shrunk([0.9, 0.91, 0.89, 0.9])).toBe(true);
    expect(shrunk([1.1, 1.12, 1.09, 1.1])).toBe(true);
    expect(shrunk([0.9, 1.1, 0.9, 1.1])).toBe(false); // 1 in the middle
    expect(shrunk([0.5, 1.1, 0.9, 1.1])).toBe(true);
    const one = (gain: number) => efficiency({ noiseNv: [[1]], gains: [1] }, { noiseNv: [[1]], gains: [gain] }, [1], 1);
    expect([0.746, 0.96, 1.06].map((gain) => one(gain).hollow)).toEqual([true, false, true]);
    expect(shrunk([NaN, NaN, NaN, NaN])).toBe(false); // no response: nothing to change
  });

  it('refuses runs that do not match', () => {
    expect(() => efficiency(plain, { noiseNv: [[1, 2, 3, 4]], gains: [1] }, seconds, 40)).toThrow(/got 4 and 1$/);
    expect(() => efficiency(plain, plain, [1, 2], 40)).toThrow(RangeError);
  });
});

describe('regret', () => {
  const oracle = { seconds, noiseNv: [60, 40, 33, 30] };
  it.each([
    // noise of the lane, target, time lost, noise ratio, why
    [[80, 60, 45, 40], 40, 20, 4 / 3, '40 s against 20 s'],
    [[60, 40, 33, 30], 40, 0, 1, 'the oracle itself'],
    [[80, 70, 60, 50], 40, Infinity, 5 / 3, 'never there'],
    [[80, 70, 60, 50], 10, NaN, 5 / 3, 'nobody gets there'],
    [[50, 40, 33, 30], 50, -10, 1, 'faster, by chance or by shrinking'],
  ])('of %j at %i nV: %d s, × %d (%s)', (noiseNv, target, lostS, noiseRatio) => {
    const result = regret({ seconds, noiseNv }, oracle, target);
    expect(result.lostS).toBe(lostS);
    expect(result.noiseRatio).toBeCloseTo(noiseRatio, 12);
  });

  it('refuses an empty curve', () => {
    expect(() => regret({ seconds: [], noiseNv: [] }, oracle, 40)).toThrow(/got 0 and 0$/);
  });
});
