import { describe, expect, it } from 'vitest';
import { errorParts, gatherErrors, linearErrorParts } from '../../../src/core/quality/errorParts.ts';
import { mean, standardError } from '../sampleStatistics.ts';
import { whiteSweeps } from './whiteSweeps.ts';

const of = (...values: number[]) => Float64Array.from(values);

describe('errorParts', () => {
  it('by hand: errors 1 and 3', () => {
    const parts = errorParts([of(1), of(3)]);
    expect(parts.totalUv).toBeCloseTo(Math.sqrt(5), 12);
    expect(parts.noiseUv).toBeCloseTo(Math.SQRT2, 12);
    expect(parts.biasUv).toBeCloseTo(Math.sqrt(4 - 1), 12);
  });

  it('finds a bias half as large as the noise: 200 sets of 12 replicates, 4 standard errors', () => {
    const bias: number[] = [];
    const noise: number[] = [];
    for (let r = 0; r < 200; r++) {
      const parts = errorParts(
        whiteSweeps(
          `parts/${r}`,
          12,
          40,
          () => 1,
          (i) => 0.5 * Math.SQRT2 * Math.sin(i),
        ),
      ); // prettier-ignore
      bias.push(parts.biasUv ** 2);
      noise.push(parts.noiseUv ** 2);
    }
    expect(Math.abs(mean(noise) - 1)).toBeLessThan(4 * standardError(noise));
    expect(Math.abs(mean(bias) - 0.25)).toBeLessThan(4 * standardError(bias) + 0.01); // 40 points are not whole turns
  });

  it('shows no bias where there is none, never less than 0, and passes NaN on', () => {
    expect(errorParts([of(1), of(-1)]).biasUv).toBe(0);
    expect(errorParts([of(NaN), of(1)]).totalUv).toBeNaN();
    expect(() => errorParts([of(1)])).toThrow(new RangeError('errorParts: needs at least 2 replicates, got 1'));
    expect(() => errorParts([of(1), of(1, 2)])).toThrow(/every replicate must have 1 points, got 2$/);
  });
});

describe('gatherErrors', () => {
  it('knows nothing of one replicate, and refuses another length', () => {
    const gatherer = gatherErrors(1);
    gatherer.add(of(1));
    expect(gatherer.parts()).toEqual({ totalUv: NaN, noiseUv: NaN, biasUv: NaN });
    gatherer.add(of(3));
    // Σe²/2 = 5, variance 2, and 2² − 2/2 = 3 of bias²: by hand.
    expect(Object.values(gatherer.parts()).map((uv) => uv * uv)).toEqual(
      [5, 2, 3].map((uv2) => expect.closeTo(uv2, 12)),
    );
    expect(() => gatherer.add(of(1, 2))).toThrow(/must have 1 points, got 2$/);
    expect(() => gatherErrors(0)).toThrow(RangeError);
  });
});

describe('linearErrorParts', () => {
  it('splits one average exactly: by hand', () => {
    const parts = linearErrorParts(of(3, 1), of(2, 2), of(1, 3), 0, 2);
    expect([parts.totalUv, parts.noiseUv, parts.biasUv]).toEqual([2, 1, 1]);
    expect(() => linearErrorParts(of(1), of(1), of(1), 0, 2)).toThrow(/window/);
  });
});
