import { describe, expect, it } from 'vitest';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { LEAD_IN_S, presentationAt, presentationCount, stimulusSchedule } from '../../../src/core/stimulus/schedule.ts';
import { correlation, mean, standardDeviation } from '../sampleStatistics.ts';

const SAMPLE_RATE_HZ = 16000;

function presentations(stimulus: object, count: number, seed = '7') {
  const next = stimulusSchedule(resolveScenario({ stimulus }), seed);
  return Array.from({ length: count }, () => next());
}

describe('stimulusSchedule', () => {
  it.each([[11.1], [27.7], [39.1], [0.5]])(
    '%d/s without jitter: every stimulus on the nearest sample of its beat',
    (ratePerS) => {
      for (const { index, sample } of presentations({ ratePerS }, 2000)) {
        const exact = (LEAD_IN_S + index / ratePerS) * SAMPLE_RATE_HZ;
        // The beat counts from the start: rounding must not add up.
        expect(Math.abs(sample - exact)).toBeLessThanOrEqual(0.5 + 1e-6);
        expect(Number.isInteger(sample)).toBe(true);
      }
    },
  );

  it('numbers the presentations from 0', () => {
    expect(presentations({}, 5).map(({ index }) => index)).toEqual([0, 1, 2, 3, 4]);
  });

  const polarities = [
    ['alternating', [1, -1, 1, -1, 1, -1], 'condensation first'],
    ['condensation', [1, 1, 1, 1, 1, 1], 'always +1'],
    ['rarefaction', [-1, -1, -1, -1, -1, -1], 'always −1'],
  ] as const;
  it.each(polarities)('%s polarity', (polarity, expected, why) => {
    expect(
      presentations({ polarity }, 6).map((presentation) => presentation.polarity),
      why,
    ).toEqual(expected);
  });

  it('jitter: uniform within ±J about the beat, each on its own: 4 standard errors', () => {
    const count = 20_000;
    const jitterMs = 8;
    const all = presentations({ ratePerS: 25, jitterMs }, count);
    const shiftsMs = all.map(({ index, sample }) => (sample / SAMPLE_RATE_HZ - LEAD_IN_S - index / 25) * 1000);
    expect(Math.max(...shiftsMs.map(Math.abs))).toBeLessThanOrEqual(jitterMs + 500 / SAMPLE_RATE_HZ);
    expect(Math.max(...shiftsMs), 'reaches the upper end').toBeGreaterThan(0.995 * jitterMs);
    expect(Math.min(...shiftsMs), 'reaches the lower end').toBeLessThan(-0.995 * jitterMs);
    const sdMs = jitterMs / Math.sqrt(3);
    expect(Math.abs(mean(shiftsMs))).toBeLessThan((4 * sdMs) / Math.sqrt(count));
    // Variance of the sample variance of a uniform: (1/5 − 1/9)·J⁴/n
    const varianceError = Math.sqrt((1 / 5 - 1 / 9) / count) * jitterMs ** 2;
    expect(Math.abs(standardDeviation(shiftsMs) ** 2 - sdMs ** 2)).toBeLessThan(4 * varianceError);
    const bins = new Float64Array(20);
    for (const shift of shiftsMs) bins[Math.min(19, Math.floor(((shift + jitterMs) / (2 * jitterMs)) * 20))]++;
    const chiSquare = bins.reduce((sum, seen) => sum + (seen - count / 20) ** 2 / (count / 20), 0);
    expect(chiSquare).toBeLessThan(19 + 4 * Math.sqrt(38));
    expect(Math.abs(correlation(shiftsMs, shiftsMs, 1))).toBeLessThan(4 / Math.sqrt(count));
  });

  it('keeps the order of stimuli with the largest jitter that is allowed', () => {
    const all = presentations({ ratePerS: 25, jitterMs: 19.99 }, 5000);
    for (let k = 1; k < all.length; k++) expect(all[k].sample).toBeGreaterThanOrEqual(all[k - 1].sample);
  });

  it('scales the same shifts with the jitter, and draws them again for another seed', () => {
    const shift = (jitterMs: number, seed: string) =>
      presentations({ ratePerS: 10, jitterMs }, 50, seed).map(
        ({ index, sample }) => sample - (LEAD_IN_S + index / 10) * SAMPLE_RATE_HZ,
      );
    const small = shift(10, 'a');
    const large = shift(40, 'a');
    for (let k = 0; k < 50; k++) expect(Math.abs(large[k] - 4 * small[k])).toBeLessThanOrEqual(2.5); // rounding: 4·½ + ½
    expect(shift(10, 'b')).not.toEqual(small);
    expect(shift(10, 'a')).toEqual(small);
  });

  it('never starts a sweep before the recording', () => {
    const scenario = resolveScenario({ stimulus: { ratePerS: 2, jitterMs: 100 }, window: { preMs: 400 } });
    const earliest = presentationAt(scenario, 0, 0).sample;
    expect(earliest - Math.round(0.4 * SAMPLE_RATE_HZ)).toBeGreaterThanOrEqual(0);
  });
});

describe('presentationCount', () => {
  const counts = [
    // seconds, rate, expected, why
    [120, 27.7, 3324, 'whole by chance'],
    [1, 27.7, 27, 'the last beat does not fit'],
    [16, 0.5, 8, 'slow'],
    [10, 10, 100, 'stimuli at 0 … 9.9 s'],
    [100, 4.35, 435, '100 · 4.35 is 434.99999999999994 in doubles'],
    [3, 3.7, 11, '11.1'],
  ] as const;
  it.each(counts)('%d s at %d/s: %d', (durationS, ratePerS, expected, why) => {
    expect(presentationCount(resolveScenario({ session: { durationS }, stimulus: { ratePerS } })), why).toBe(expected);
  });
});
