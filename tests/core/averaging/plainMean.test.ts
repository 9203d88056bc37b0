import { describe, expect, it } from 'vitest';
import { ownNoiseOfMeanUv, plainMean } from '../../../src/core/averaging/plainMean.ts';
import type { SweepVerdict } from '../../../src/core/averaging/strategy.ts';

const context = {
  samplesPerSweep: 3,
  sampleRateHz: 1000,
  preSampleCount: 1,
  analysisFrom: 1,
  analysisTo: 3,
  respectFlags: true,
};

function averageOf(sweeps: readonly (readonly number[])[]) {
  const verdicts: SweepVerdict[] = [];
  const averager = plainMean.create(context, {}, (verdict) => verdicts.push({ ...verdict }));
  for (const [index, values] of sweeps.entries()) {
    averager.add(Float64Array.from(values), { index, timeS: index, polarity: 1, overRange: false });
  }
  const estimate = new Float64Array(3);
  averager.read(estimate);
  return { averager, verdicts, estimate: Array.from(estimate) };
}

describe('plainMean', () => {
  it('by hand: three sweeps', () => {
    const { averager, estimate } = averageOf([
      [9, 1, 4],
      [0, 2, 4],
      [0, 6, 4],
    ]);
    expect(estimate).toEqual([3, 3, 4]);
    // Variance over sweeps: 7 and 0 at the two samples of the window; √(mean 3.5 / 3)
    expect(averager.ownNoiseUv()).toBeCloseTo(Math.sqrt(3.5 / 3), 12);
    expect([averager.usedCount(), averager.effectiveCount()]).toEqual([3, 3]);
  });

  it('claims nothing from one sweep, and 0 from identical ones', () => {
    expect(averageOf([[1, 2, 3]]).averager.ownNoiseUv()).toBeNaN();
    expect(
      averageOf([
        [1, 2, 3],
        [1, 2, 3],
      ]).averager.ownNoiseUv(),
    ).toBe(0);
    expect(averageOf(Array(50).fill([0.1, 0.3, 0.7])).averager.ownNoiseUv()).toBeLessThan(1e-8);
  });

  it('gives every sweep the weight 1 and tells its size in the window', () => {
    const { verdicts } = averageOf([
      [9, 3, 4],
      [0, 0, 1000],
    ]);
    expect(verdicts.map(({ weight, reason }) => [weight, reason])).toEqual([
      [1, 'taken'],
      [1, 'taken'],
    ]);
    expect(verdicts[0].measureUv).toBeCloseTo(Math.sqrt(12.5), 12);
    expect(plainMean.explain(verdicts[0])).toBe(
      'Counted like every other sweep; its own size, 3.5 µV rms, does not matter here.',
    );
  });
});

describe('ownNoiseOfMeanUv', () => {
  const cases = [
    // Σ power, power of the mean, sweeps, expected, why
    [10, 1, 2, 2, 'variance (10 − 2·1)/1 = 8, of the mean 4'],
    [8, 2, 4, 0, 'no scatter'],
    [7.999999, 2, 4, 0, 'rounding below nothing is nothing'],
    [100, 0, 5, Math.sqrt(5), 'variance 25, of the mean 5'],
  ] as const;
  it.each(cases)('%d, %d, %d: %d', (powerSum, meanPower, count, expected, why) => {
    expect(ownNoiseOfMeanUv(powerSum, meanPower, count), why).toBeCloseTo(expected, 12);
  });
});
