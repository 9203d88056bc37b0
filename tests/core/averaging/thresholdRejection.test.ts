import { describe, expect, it } from 'vitest';
import type { SweepVerdict } from '../../../src/core/averaging/strategy.ts';
import { thresholdRejection } from '../../../src/core/averaging/thresholdRejection.ts';

// One sample is 1 ms: 2 before the stimulus, 6 after it.
const context = {
  samplesPerSweep: 8,
  sampleRateHz: 1000,
  preSampleCount: 2,
  analysisFrom: 4,
  analysisTo: 8,
  respectFlags: true,
};

function judge(sweeps: readonly (readonly number[])[], thresholdUv = 20, skipMs = 1) {
  const verdicts: SweepVerdict[] = [];
  const listener = (verdict: Readonly<SweepVerdict>) => verdicts.push({ ...verdict });
  const averager = thresholdRejection.create(context, { thresholdUv, skipMs }, listener);
  for (const [index, values] of sweeps.entries()) {
    averager.add(Float64Array.from(values), { index, timeS: index, polarity: 1, overRange: false });
  }
  return { averager, verdicts };
}

/** A sweep with one sample set. */
const withPeak = (at: number, uv: number) => Array.from({ length: 8 }, (_, i) => (i === at ? uv : 0));

describe('thresholdRejection', () => {
  const cases = [
    // sweep, accepted, why
    [withPeak(5, 19.999), true, 'just under the limit'],
    [withPeak(5, 20), false, 'at the limit'],
    [withPeak(5, -20), false, 'below as above'],
    [withPeak(5, -19.999), true, 'just under, below'],
    [withPeak(0, 25), false, 'before the stimulus counts'],
    [withPeak(1, 25), false, 'right before the stimulus counts'],
    [withPeak(2, 25), true, 'at the stimulus nothing is judged'],
    [withPeak(3, 25), false, '1 ms later it is'],
    [withPeak(7, 25), false, 'the last sample counts'],
    [withPeak(5, 0), true, 'silence'],
  ] as const;
  it.each(cases)('%j: %s', (sweep, accepted, why) => {
    const { averager, verdicts } = judge([sweep]);
    expect(averager.usedCount(), why).toBe(accepted ? 1 : 0);
    expect(verdicts.map(({ weight, reason }) => [weight, reason])).toEqual([accepted ? [1, 'taken'] : [0, 'rejected']]);
  });

  it.each([
    [0, 0, 'every sample is judged'],
    [3, 1, 'the stimulus and 3 ms are not'],
    [100, 1, 'nothing after the stimulus is'],
  ])('with %d ms skipped a peak 2 ms after the stimulus: %d accepted', (skipMs, accepted, why) => {
    expect(judge([withPeak(4, 25)], 20, skipMs).averager.usedCount(), why).toBe(accepted);
  });

  it('averages the accepted only, and claims the noise of those', () => {
    const { averager, verdicts } = judge([withPeak(4, 6), withPeak(4, 1000), withPeak(4, 2)]);
    const estimate = new Float64Array(8);
    averager.read(estimate);
    expect(Array.from(estimate)).toEqual(withPeak(4, 4));
    // Variance 8 at one of four samples: √(8/4/2)
    expect(averager.ownNoiseUv()).toBeCloseTo(1, 12);
    expect([averager.usedCount(), averager.effectiveCount()]).toEqual([2, 2]);
    expect(verdicts[1].measureUv).toBe(1000);
    expect(thresholdRejection.explain(verdicts[1])).toBe(
      'Thrown away: its largest sample is 1000.0 µV, at or over the limit of 20 µV.',
    );
    expect(thresholdRejection.explain(verdicts[2])).toBe(
      'Counted in full: its largest sample is 2.0 µV, under the limit of 20 µV.',
    );
  });

  it('claims nothing while fewer than two are accepted', () => {
    expect(judge([withPeak(4, 6), withPeak(4, 1000)]).averager.ownNoiseUv()).toBeNaN();
  });

  it('a limit beyond every sample makes it the plain mean', () => {
    const { averager } = judge([withPeak(4, 9000), withPeak(4, 1000)], 100_000);
    expect(averager.usedCount()).toBe(2);
  });

  it.each([[0], [-5], [NaN]])('refuses a threshold of %d µV', (thresholdUv) => {
    const rule = new RangeError(`thresholdRejection: thresholdUv must be > 0, got ${thresholdUv}`);
    expect(() => judge([], thresholdUv)).toThrow(rule);
  });
});
