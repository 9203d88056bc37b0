import { describe, expect, it } from 'vitest';
import { kalman } from '../../../src/core/averaging/kalman.ts';
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
const defaults = { processNoiseUv2: 0, noiseMemory: 0.3, noiseFloorUv2: 0.01, knownNoiseUv2: 0 };

function track(
  sweeps: readonly ArrayLike<number>[],
  tunables: Partial<typeof defaults> = {},
  flagged: readonly number[] = [],
  changes: Partial<typeof context> = {},
) {
  const verdicts: SweepVerdict[] = [];
  const settings = { ...context, ...changes };
  const averager = kalman.create(settings, { ...defaults, ...tunables }, (verdict) => verdicts.push({ ...verdict }));
  for (const [index, values] of sweeps.entries()) {
    const meta = { index, timeS: index, polarity: 1, overRange: flagged.includes(index) } as const;
    averager.add(Float64Array.from(values), meta);
  }
  const estimate = new Float64Array(settings.samplesPerSweep);
  averager.read(estimate);
  return { averager, verdicts, estimate: Array.from(estimate) };
}

/** The scalar recursion as textbooks print it, from a start that assumes nothing. */
function scalarKalman(values: readonly number[], noise: number, process: number) {
  let estimate = 0;
  let doubt = 1e6;
  for (const value of values) {
    doubt += process;
    const gain = doubt / (doubt + noise);
    estimate += gain * (value - estimate);
    doubt *= 1 - gain;
  }
  return { estimate, claim: Math.sqrt(doubt) };
}

const values = [3, -1, 4, 1, -5, 9, 2, -6, 5, 3, -5, 8];
const sweeps = values.map((value) => [value, value, value]);

describe('kalman: known noise', () => {
  it('Q = 0 is the plain mean, its claim √(R/n)', () => {
    const { averager, estimate } = track(sweeps, { knownNoiseUv2: 9 });
    const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
    for (const value of estimate) expect(value).toBeCloseTo(mean, 9);
    expect(averager.ownNoiseUv()).toBeCloseTo(Math.sqrt(9 / 12), 4); // the start is worth 10⁻⁵ of a sweep
    expect(averager.effectiveCount()).toBeCloseTo(12, 4);
  });

  it.each([[1e-3], [0.1], [1]])('Q = %d µV² follows the textbook recursion', (processNoiseUv2) => {
    const { averager, estimate } = track(sweeps, { knownNoiseUv2: 9, processNoiseUv2 });
    const expected = scalarKalman(values, 9, processNoiseUv2);
    // What the recursion still holds of its start, 0, is 10⁻⁵ of a sweep here; the pair leaves it out altogether.
    for (const value of estimate) expect(value).toBeCloseTo(expected.estimate, 4);
    expect(averager.ownNoiseUv()).toBeCloseTo(expected.claim, 9);
  });

  it('with Q > 0 the claim settles at P∞ = (−Q + √(Q² + 4QR))/2', () => {
    const many = Array.from({ length: 3000 }, (_, k) => sweeps[k % 12]);
    const [q, r] = [0.01, 9];
    const { averager } = track(many, { knownNoiseUv2: r, processNoiseUv2: q });
    expect(averager.ownNoiseUv() ** 2).toBeCloseTo((-q + Math.sqrt(q * q + 4 * q * r)) / 2, 6);
    expect(averager.effectiveCount()).toBeLessThan(100);
    expect(averager.usedCount()).toBe(3000);
  });

  it('follows a response that changes only where Q > 0', () => {
    const step = Array.from({ length: 400 }, (_, k) => (k < 200 ? [0, 0, 0] : [10, 10, 10]));
    expect(track(step, { knownNoiseUv2: 9 }).estimate[0]).toBeCloseTo(5, 6);
    expect(track(step, { knownNoiseUv2: 9, processNoiseUv2: 0.1 }).estimate[0]).toBeGreaterThan(9.9);
  });

  it('doubt grows while sweeps are flagged', () => {
    const tunables = { knownNoiseUv2: 9, processNoiseUv2: 0.5 };
    const gap = track(
      [...sweeps, ...sweeps, [0, 0, 0]],
      tunables,
      Array.from({ length: 12 }, (_, k) => 12 + k),
    );
    const without = track([...sweeps, [0, 0, 0]], tunables);
    expect(gap.verdicts[24].limitUv, 'gain').toBeGreaterThan(without.verdicts[12].limitUv);
    expect(gap.averager.usedCount()).toBe(13);
  });
});

describe('kalman: noise estimated from the sweeps', () => {
  it('by hand: the first sweep is taken as it is, the second at its own noise', () => {
    // Sweep 1: ε² = (9 + 16)/2 = 12.5 = R₁. Sweep 2: ε = (2, 0) from it: ε² = 2; R₂ = 0.3·R₁ + 0.7·2·R₁/(R₁ + P).
    const { verdicts, estimate } = track([
      [0, 3, 4],
      [0, 5, 4],
    ]);
    const p1 = (1e6 * 12.5) / (1e6 + 12.5);
    const r2 = 0.3 * 12.5 + (0.7 * 2 * 12.5) / (12.5 + p1);
    expect(1 / verdicts[0].weight).toBeCloseTo(12.5, 9);
    expect(1 / verdicts[1].weight).toBeCloseTo(r2, 9);
    const gain = p1 / (p1 + r2);
    expect(verdicts[1].limitUv).toBeCloseTo(gain, 9);
    expect(estimate[1]).toBeCloseTo(3 + 2 * gain, 4);
  });

  it('judges the analysis window only', () => {
    const inside = [
      [0, 3, 4],
      [0, 5, 4],
      [0, 1, 2],
    ];
    const outside = inside.map(([, ...rest], k) => [1000 * k, ...rest]);
    const weights = (of: readonly number[][]) => track(of).verdicts.map(({ weight }) => weight);
    expect(weights(outside)).toEqual(weights(inside));
  });

  it('marks a loud sweep down, and says so', () => {
    const draws = stream('7', 'test/kalman');
    const settings = { samplesPerSweep: 40, analysisFrom: 0, analysisTo: 40 };
    const noisy = Array.from({ length: 100 }, (_, k) => {
      const sweep = new Float64Array(40);
      fillGaussian(draws, sweep, 40);
      return sweep.map((value) => (k === 60 ? 30 : 1) * value);
    });
    const { verdicts } = track(noisy, {}, [], settings);
    expect(verdicts[60].reason).toBe('down-weighted');
    expect(verdicts[60].weight).toBeLessThan(0.01 * verdicts[59].weight);
    expect(verdicts[59].reason).toBe('taken');
    expect(kalman.explain(verdicts[60])).toMatch(
      /^Moved the estimate by .* % of the way towards itself: its noise was put at /,
    );
    expect(verdicts[99].reason, 'the memory of the loud one fades').toBe('taken');
  });

  it('never takes R below its floor, so that silence does not take over', () => {
    const { verdicts } = track(
      [
        [0, 3, 4],
        [0, 0, 0],
        [0, 0, 0],
        [0, 0, 0],
      ],
      { noiseFloorUv2: 4, noiseMemory: 0 },
    );
    for (const { weight } of verdicts) expect(weight).toBeLessThanOrEqual(0.25);
  });

  it.each([[-1e-9], [NaN]])('refuses Q = %d', (processNoiseUv2) => {
    const rule = new RangeError(`kalman: processNoiseUv2 must be >= 0, got ${processNoiseUv2}`);
    expect(() => track([], { processNoiseUv2 })).toThrow(rule);
  });
});
