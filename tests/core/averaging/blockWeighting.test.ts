import { describe, expect, it } from 'vitest';
import { blockWeighting } from '../../../src/core/averaging/blockWeighting.ts';
import type { SweepVerdict } from '../../../src/core/averaging/strategy.ts';
import { fillGaussian, stream } from '../../../src/core/random/stream.ts';

const context = {
  samplesPerSweep: 3,
  sampleRateHz: 1000,
  preSampleCount: 1,
  analysisFrom: 1,
  analysisTo: 3,
  respectFlags: true,
};

function averageOf(
  sweeps: readonly ArrayLike<number>[],
  tunables: { blockLength: number; varianceFloorUv2?: number; independentPoints?: number },
  changes: Partial<typeof context> = {},
  flagged: readonly number[] = [],
) {
  const verdicts: SweepVerdict[] = [];
  const parameters = { varianceFloorUv2: 0, independentPoints: 10, ...tunables };
  const settings = { ...context, ...changes };
  const averager = blockWeighting.create(settings, parameters, (verdict) => verdicts.push({ ...verdict }));
  for (const [index, values] of sweeps.entries()) {
    const meta = { index, timeS: index, polarity: 1, overRange: flagged.includes(index) } as const;
    averager.add(Float64Array.from(values), meta);
  }
  const estimate = new Float64Array(settings.samplesPerSweep);
  averager.read(estimate);
  return { averager, verdicts, estimate: Array.from(estimate) };
}

// Block 1 scatters by ±1 about 1: v = 2. Block 2 scatters by ±2 about 5: v = 8.
const two = [
  [0, 0, 2],
  [0, 2, 0],
  [9, 3, 7],
  [9, 7, 3],
];

describe('blockWeighting', () => {
  it('by hand: two blocks of two, variances 2 and 8', () => {
    const { averager, verdicts, estimate } = averageOf(two, { blockLength: 2 });
    // Weights 1/2 and 1/8 per sweep: (2·½·1 + 2·⅛·5)/(1 + ¼) = 1.8; before the window (0 + ¼·9)/1.25
    expect(estimate[1]).toBeCloseTo(1.8, 12);
    expect(estimate[2]).toBeCloseTo(1.8, 12);
    expect(estimate[0]).toBeCloseTo(1.8, 12);
    expect(verdicts.map(({ index, weight }) => [index, weight])).toEqual([
      [0, 0.5],
      [1, 0.5],
      [2, 0.125],
      [3, 0.125],
    ]);
    expect(verdicts.map(({ reason }) => reason)).toEqual(['taken', 'taken', 'down-weighted', 'down-weighted']);
    expect(verdicts.map(({ measureUv }) => measureUv)).toEqual([Math.SQRT2, Math.SQRT2, Math.sqrt(8), Math.sqrt(8)]);
    // (1.25)^(−1/2)·√(ν/(ν − 2)), ν = 1·10
    expect(averager.ownNoiseUv()).toBeCloseTo(Math.sqrt(10 / 8 / 1.25), 12);
    expect(averager.usedCount()).toBe(4);
    expect(averager.effectiveCount()).toBeCloseTo(1.25 ** 2 / (2 * 0.25 + 2 / 64), 12);
  });

  it('explains a share of the usual share', () => {
    const { verdicts } = averageOf(two, { blockLength: 2 });
    expect(blockWeighting.explain(verdicts[0])).toMatch(
      /^Counted: 1\.0 times the usual share; its block has 1\.41 µV rms/,
    );
    expect(blockWeighting.explain(verdicts[3])).toMatch(
      /^Marked down: 0\.40 times the usual share; its block has 2\.83/,
    );
  });

  it('does not count a block that is not full, and tells nothing of it yet', () => {
    const { averager, verdicts, estimate } = averageOf(two.slice(0, 3), { blockLength: 2 });
    expect(estimate).toEqual([0, 1, 1]);
    expect(averager.usedCount()).toBe(2);
    expect(verdicts.map(({ index }) => index)).toEqual([0, 1]);
    expect(averageOf(two, { blockLength: 5 }).averager.usedCount()).toBe(0);
  });

  it('the response does not enter the weight: any waveform common to a block leaves its variance', () => {
    const raised = two.map((values) => values.map((value, i) => value + [100, -50, 30][i]));
    const [one, other] = [averageOf(two, { blockLength: 2 }), averageOf(raised, { blockLength: 2 })];
    for (let k = 0; k < 4; k++) expect(other.verdicts[k].weight).toBeCloseTo(one.verdicts[k].weight, 9);
    for (let i = 0; i < 3; i++) expect(other.estimate[i]).toBeCloseTo(one.estimate[i] + [100, -50, 30][i], 9);
  });

  it('judges the analysis window only', () => {
    const outside = two.map((values, k) => [values[0] + 1000 * (k % 2), values[1], values[2]]);
    const weights = averageOf(outside, { blockLength: 2 }).verdicts.map(({ weight }) => weight);
    expect(weights).toEqual([0.5, 0.5, 0.125, 0.125]);
  });

  it('the floor is added to every variance', () => {
    const { verdicts } = averageOf(two, { blockLength: 2, varianceFloorUv2: 2 });
    expect(verdicts.map(({ weight }) => weight)).toEqual([0.25, 0.25, 0.1, 0.1]);
  });

  it('fills a block with the next sweeps when one is flagged', () => {
    const sweeps = [two[0], [1e6, 1e6, 1e6], two[1], two[2], two[3]];
    const { verdicts, estimate } = averageOf(sweeps, { blockLength: 2 }, {}, [1]);
    expect(verdicts.map(({ index, reason }) => [index, reason])).toEqual([
      [1, 'flagged'],
      [0, 'taken'],
      [2, 'taken'],
      [3, 'down-weighted'],
      [4, 'down-weighted'],
    ]);
    expect(estimate[1]).toBeCloseTo(1.8, 12);
  });

  // Rounding must not turn "no noise" into "almost no noise", which would take over the average.
  it.each([[0], [0.1], [1 / 3], [7], [49.998]])('a block of identical sweeps of %d counts next to nothing', (level) => {
    for (const blockLength of [2, 3, 8, 32, 250]) {
      const same = Array<number[]>(blockLength).fill([level, 1.1 * level, 0.7 * level]);
      const { averager, verdicts } = averageOf(same, { blockLength });
      expect(verdicts[0].weight, `${blockLength} sweeps`).toBe(1e-12);
      expect(averager.ownNoiseUv()).toBeNaN();
      expect(blockWeighting.explain(verdicts[0])).toMatch(/^Next to no weight: its block is exactly constant/);
    }
  });

  it('with a floor such a block counts like the floor', () => {
    const { verdicts } = averageOf(
      [
        [1, 1, 1],
        [1, 1, 1],
      ],
      { blockLength: 2, varianceFloorUv2: 4 },
    );
    expect(verdicts.map(({ weight }) => weight)).toEqual([0.25, 0.25]);
  });

  it('claims nothing where it has too little freedom to know its variances', () => {
    expect(averageOf(two, { blockLength: 2, independentPoints: 2 }).averager.ownNoiseUv()).toBeNaN();
    expect(averageOf(two, { blockLength: 2, independentPoints: 3 }).averager.ownNoiseUv()).toBeGreaterThan(0);
  });

  // E[1/v̂] = (1/v)·ν/(ν − 2) for ν = (B − 1)·points: short blocks over-claim by that much without the correction.
  it.each([[2], [8], [32]])('its claim is honest on white noise for blocks of %i: within 3 %%', (blockLength) => {
    const draws = stream('7', 'test/blocks');
    const white = Array.from({ length: 3200 }, () => {
      const sweep = new Float64Array(12);
      fillGaussian(draws, sweep, 12);
      return sweep;
    });
    const settings = { samplesPerSweep: 12, analysisFrom: 2, analysisTo: 12 };
    const { averager } = averageOf(white, { blockLength, independentPoints: 10 }, settings);
    expect(Math.abs(averager.ownNoiseUv() * Math.sqrt(3200) - 1)).toBeLessThan(0.03);
  });

  it.each([[1], [0], [NaN]])('refuses blocks of %d', (blockLength) => {
    const rule = new RangeError(`blockWeighting: blockLength must be >= 2, got ${blockLength}`);
    expect(() => averageOf([], { blockLength })).toThrow(rule);
  });
});
