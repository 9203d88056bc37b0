import { describe, expect, it } from 'vitest';
import { nextGaussian, stream } from '../../../src/core/random/stream.ts';
import { brainstemFigures, intervalFigure } from '../../../src/core/reading/brainstemFigures.ts';
import { figure, ratioFigure } from '../../../src/core/reading/figure.ts';
import { asymmetry, meanRectifiedUv, muscleFigures } from '../../../src/core/reading/muscleFigures.ts';
import { standardDeviation } from '../sampleStatistics.ts';

const peak = (name: string, latencyMs: number, latencySdMs: number, amplitudeUv: number, amplitudeSdUv: number) => ({
  name,
  latencyMs,
  latencySdMs,
  amplitudeUv,
  amplitudeSdUv,
  toTroughUv: amplitudeUv,
  toTroughSdUv: amplitudeSdUv,
  troughMs: latencyMs + 1,
  clear: true,
});

describe('figure', () => {
  it('has an interval of 1.96 standard deviations', () => {
    const { low, high, meaningful } = figure('x', 'ms', 4, 0.1);
    expect([low, high]).toEqual([4 - 0.1959963984540054, 4 + 0.1959963984540054]);
    expect(meaningful).toBe(true);
    expect(figure('x', 'ms', NaN, 0.1).meaningful).toBe(false);
  });
});

describe('ratioFigure', () => {
  it('is the delta rule where the denominator is sure', () => {
    const { value, sd, low, high } = ratioFigure('r', 4, 0.2, 2, 0);
    expect([value, sd]).toEqual([2, 0.1]);
    expect(low).toBeCloseTo(2 - 0.196, 3);
    expect(high).toBeCloseTo(2 + 0.196, 3);
  });

  it('holds the true ratio in 95 % of cases where the delta rule would not: 4000 draws, 4 standard errors', () => {
    const draws = stream('7', 'test/fieller');
    let held = 0;
    for (let k = 0; k < 4000; k++) {
      const { low, high } = ratioFigure(
        'r',
        0.4 + 0.03 * nextGaussian(draws),
        0.03,
        0.15 + 0.05 * nextGaussian(draws),
        0.05,
      );
      if (low <= 0.4 / 0.15 && 0.4 / 0.15 <= high) held++;
    }
    // Where g ≥ 1 we give the whole line instead of Fieller's two half-lines: a little more than 95 %.
    expect(held / 4000).toBeGreaterThan(0.95 - 4 * Math.sqrt((0.05 * 0.95) / 4000));
    expect(held / 4000).toBeLessThan(0.985);
  });

  it('has no end where the denominator may be zero, and means nothing below twice its noise', () => {
    const lost = ratioFigure('V/I', 0.4, 0.05, 0.08, 0.05);
    expect([lost.low, lost.high, lost.meaningful]).toEqual([-Infinity, Infinity, false]);
    expect(ratioFigure('V/I', 0.4, 0.05, 0.1, 0.05).meaningful).toBe(true);
    expect(ratioFigure('V/I', 0.4, 0.05, NaN, 0.05).meaningful).toBe(false);
  });
});

describe('brainstemFigures', () => {
  it('adds errors in squares', () => {
    const figures = brainstemFigures([
      peak('I', 1.5, 0.03, 0.2, 0.02),
      peak('III', 3.6, 0.04, 0.2, 0.02),
      peak('V', 5.4, 0.12, 0.5, 0.02),
    ]);
    expect(figures.map(({ name }) => name)).toEqual(['I–III', 'III–V', 'I–V', 'V/I']);
    expect(figures[0].value).toBeCloseTo(2.1, 12);
    expect(figures[0].sd).toBeCloseTo(0.05, 12);
    expect(figures[3].value).toBeCloseTo(2.5, 12);
  });

  it('gives what the peaks allow', () => {
    expect(brainstemFigures([peak('V', 5.4, 0.1, 0.5, 0.02)])).toEqual([]);
    expect(brainstemFigures([peak('III', 3.6, 0.1, 0.2, 0.02), peak('V', 5.4, 0.1, 0.5, 0.02)])).toHaveLength(1);
    const between = intervalFigure('V left–right', peak('V', 5.4, 0.03, 1, 0), peak('V', 5.8, 0.04, 1, 0));
    expect(between.value).toBeCloseTo(0.4, 12);
    expect(between.sd).toBeCloseTo(0.05, 12);
  });
});

describe('muscle figures', () => {
  it('p13–n23, raw and for the contraction: by hand', () => {
    const [raw, corrected] = muscleFigures(peak('p13', 13, 0.1, 70, 3), peak('n23', 23, 0.1, -130, 4), 100);
    expect([raw.name, raw.value, raw.sd]).toEqual(['p13–n23', 200, 5]);
    expect([corrected.value, corrected.sd]).toEqual([2, 0.05]);
    expect(muscleFigures(peak('n10', 10, 0.1, -3, 1), peak('p15', 15, 0.1, 3, 1), NaN)).toHaveLength(1);
  });

  it.each([
    [[1, -1, 9], 2, 1, 'only before the stimulus'],
    [[11, 9, 0], 2, 1, 'a slow potential does not count'],
    [[1, 2], 0, NaN, 'nothing before the stimulus'],
  ])('mean rectified of %j: %d (%s)', (sweep, pre, expected) => {
    expect(meanRectifiedUv(Float64Array.from(sweep), pre)).toBe(expected);
  });

  it('asymmetry by hand: E14 100·(larger − smaller)/(larger + smaller) (clinical study, published values E14)', () => {
    expect(asymmetry(3, 0, 1, 0).value).toBe(50);
    expect(asymmetry(1, 0, 3, 0).value).toBe(50);
    expect(asymmetry(2, 0, 2, 0).value).toBe(0);
    expect(asymmetry(3, 0.3, 1, 0.1).sd).toBeCloseTo((200 * Math.sqrt(0.09 + 0.09)) / 16, 12);
    expect(asymmetry(0, 0, 0, 0).meaningful).toBe(false);
  });

  it('its σ is the scatter of the signed ratio: 3000 draws, 4 standard errors', () => {
    const draws = stream('7', 'test/asymmetry');
    const values = Array.from({ length: 3000 }, () => {
      const left = 150 + 8 * nextGaussian(draws);
      const right = 90 + 5 * nextGaussian(draws);
      return (100 * (left - right)) / (left + right);
    });
    expect(Math.abs(standardDeviation(values) / asymmetry(150, 8, 90, 5).sd - 1)).toBeLessThan(
      4 / Math.sqrt(6000) + 0.01,
    );
  });
});
