import { describe, expect, it } from 'vitest';
import type { Verdict } from '../../../src/core/quality/visualRule.ts';
import { nextUniform, stream } from '../../../src/core/random/stream.ts';
import { bracketThreshold, estimatedHearingDb, logisticThreshold } from '../../../src/core/reading/threshold.ts';
import { mean, rms, standardDeviation } from '../sampleStatistics.ts';

const P: Verdict = 'present';
const A: Verdict = 'absent';
const C: Verdict = 'cannot-tell';

describe('bracketThreshold', () => {
  const cases: [[number, Verdict][], number, number, number, boolean, string][] = [
    // verdicts, lowest present, highest absent, midpoint, contradictory, why
    [
      [
        [40, P],
        [30, P],
        [20, A],
      ],
      30,
      20,
      25,
      false,
      'plain',
    ],
    [
      [
        [20, A],
        [40, P],
        [30, P],
      ],
      30,
      20,
      25,
      false,
      'in any order',
    ],
    [
      [
        [40, P],
        [30, C],
        [20, A],
      ],
      40,
      20,
      30,
      false,
      'one that cannot tell widens the bracket',
    ],
    [
      [
        [40, P],
        [30, A],
        [20, P],
      ],
      40,
      30,
      35,
      true,
      'a response below an absence',
    ],
    [
      [
        [40, P],
        [30, P],
      ],
      30,
      NaN,
      NaN,
      false,
      'no absence yet',
    ],
    [
      [
        [40, A],
        [30, A],
      ],
      NaN,
      40,
      NaN,
      false,
      'no response at all',
    ],
    [
      [
        [30, P],
        [30, P],
        [30, A],
        [20, A],
      ],
      30,
      20,
      25,
      false,
      'most of several',
    ],
    [
      [
        [30, P],
        [30, A],
        [40, P],
      ],
      40,
      30,
      35,
      false,
      'half is not most',
    ],
    [[], NaN, NaN, NaN, false, 'nothing'],
  ]; // prettier-ignore
  it.each(cases)('%j: present from %d, absent at %d (%s)', (verdicts, present, absent, midpoint, contradictory) => {
    const found = bracketThreshold(verdicts.map(([levelDb, verdict]) => ({ levelDb, verdict })));
    expect(found.lowestPresentDb).toBe(present);
    expect(found.highestAbsentDb).toBe(absent);
    expect(found.midpointDb).toBe(midpoint);
    expect(found.contradictory).toBe(contradictory);
  });
});

const curve = (levelDb: number, threshold = 27, spread = 4) => 1 / (1 + Math.exp(-(levelDb - threshold) / spread));

describe('logisticThreshold', () => {
  it('finds its own curve from exact shares', () => {
    const counts = [10, 20, 30, 40].map((levelDb) => ({ levelDb, runCount: 1e6, detectedCount: 1e6 * curve(levelDb) }));
    const { thresholdDb, spreadDb, fitted } = logisticThreshold(counts);
    expect(thresholdDb).toBeCloseTo(27, 5);
    expect(spreadDb).toBeCloseTo(4, 5);
    expect(fitted).toBe(true);
  });

  it('is unbiased and knows its σ: 300 patients of 20 runs at 6 levels', () => {
    const draws = stream('7', 'test/logistic');
    const fits = Array.from({ length: 300 }, () =>
      logisticThreshold(
        [10, 17, 24, 31, 38, 45].map((levelDb) => ({
          levelDb,
          runCount: 20,
          detectedCount: Array.from({ length: 20 }, () => nextUniform(draws) < curve(levelDb)).filter(Boolean).length,
        })),
      ),
    ).filter(({ fitted }) => fitted);
    expect(fits.length).toBeGreaterThan(290);
    const found = fits.map(({ thresholdDb }) => thresholdDb);
    const spread = standardDeviation(found);
    expect(Math.abs(mean(found) - 27)).toBeLessThan((4 * spread) / Math.sqrt(fits.length));
    expect(Math.abs(rms(fits.map(({ thresholdSdDb }) => thresholdSdDb)) / spread - 1)).toBeLessThan(0.2);
  });

  it.each([
    // counts [level, runs, detected], threshold, why
    [
      [
        [20, 10, 0],
        [30, 10, 10],
      ],
      25,
      'a clean step: its middle',
    ],
    [
      [
        [20, 10, 10],
        [30, 10, 10],
      ],
      NaN,
      'always there',
    ],
    [
      [
        [20, 10, 0],
        [30, 10, 0],
      ],
      NaN,
      'never there',
    ],
    [
      [
        [20, 10, 9],
        [30, 10, 1],
      ],
      NaN,
      'falling with level: no threshold',
    ],
  ])('of %j: %d, not fitted (%s)', (counts, thresholdDb) => {
    const result = logisticThreshold(
      counts.map(([levelDb, runCount, detectedCount]) => ({ levelDb, runCount, detectedCount })),
    );
    expect(result.thresholdDb).toBe(thresholdDb);
    expect(result.fitted).toBe(false);
  });

  it('refuses impossible counts', () => {
    expect(() => logisticThreshold([{ levelDb: 20, runCount: 5, detectedCount: 6 }])).toThrow(/got 6 of 5$/);
  });
});

describe('estimatedHearingDb', () => {
  it('takes the correction off, by a table of one’s own too', () => {
    expect(estimatedHearingDb(35, 1000)).toBe(20);
    expect(estimatedHearingDb(35, 750, [{ frequencyHz: 750, correctionDb: 12 }])).toBe(23);
    expect(() => estimatedHearingDb(35, 750)).toThrow(
      new RangeError('estimatedHearingDb: frequencyHz must be one of 500, 1000, 2000, 4000, got 750'),
    );
  });
});
