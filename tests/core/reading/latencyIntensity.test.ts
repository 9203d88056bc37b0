import { describe, expect, it } from 'vitest';
import { nextGaussian, stream } from '../../../src/core/random/stream.ts';
import { latencyIntensity } from '../../../src/core/reading/latencyIntensity.ts';
import { type LatencyPattern, patternProbabilities } from '../../../src/core/reading/patternClass.ts';
import { recruited } from '../../../src/core/response/heardEars.ts';
import { mean, rms, standardDeviation } from '../sampleStatistics.ts';

const curve = (levelDbNhl: number, a = 5.05, b = 4.1, c = 38) => a + b * Math.exp(-levelDbNhl / c);
const readings = (levels: number[], latency: (level: number) => number, latencySdMs = 0.05) =>
  levels.map((levelDbNhl) => ({ levelDbNhl, latencyMs: latency(levelDbNhl), latencySdMs }));
const LEVELS = [25, 35, 45, 55, 65, 75, 85];

describe('latencyIntensity', () => {
  it.each([
    [5.05, 4.1, 38],
    [5.4, 9, 20],
    [4.9, 3, 70],
  ])('finds its own curve again: a %d, b %d, c %d', (a, b, c) => {
    const fit = latencyIntensity(readings(LEVELS, (level) => curve(level, a, b, c)));
    expect(fit.a).toBeCloseTo(a, 4);
    expect(fit.b).toBeCloseTo(b, 3);
    expect(fit.c).toBeCloseTo(c, 3);
    expect(fit.chiSquare).toBeLessThan(1e-8);
    expect(fit.at(50)).toBeCloseTo(curve(50, a, b, c), 6);
  });

  it('gives slopes in µs/dB between fixed levels', () => {
    const { slopes } = latencyIntensity(readings(LEVELS, curve));
    expect(slopes.map(({ name }) => name)).toEqual(['µs/dB 85–65 dB nHL', 'µs/dB 65–45 dB nHL']);
    expect(slopes[0].value).toBeCloseTo((1000 * (curve(65) - curve(85))) / 20, 3);
    expect(slopes[1].value).toBeCloseTo((1000 * (curve(45) - curve(65))) / 20, 3);
  });

  it('knows the σ of its slopes: 200 ears, and a χ² of levels less 3', () => {
    const draws = stream('7', 'test/latency');
    const fits = Array.from({ length: 200 }, () =>
      latencyIntensity(readings(LEVELS, (level) => curve(level) + 0.05 * nextGaussian(draws))),
    );
    for (const k of [0, 1]) {
      const values = fits.map(({ slopes }) => slopes[k].value);
      const truth = (1000 * (curve(65 - 20 * k) - curve(85 - 20 * k))) / 20;
      expect(Math.abs(mean(values) - truth)).toBeLessThan((4 * standardDeviation(values)) / Math.sqrt(200) + 0.3);
      const claimed = rms(fits.map(({ slopes }) => slopes[k].sd));
      expect(Math.abs(claimed / standardDeviation(values) - 1)).toBeLessThan(0.25);
    }
    const chiSquares = fits.map(({ chiSquare }) => chiSquare);
    expect(Math.abs(mean(chiSquares) - 4)).toBeLessThan((4 * standardDeviation(chiSquares)) / Math.sqrt(200) + 0.2);
  });

  it('holds c at 38 dB where fewer than four levels cannot tell it, and refuses fewer than two', () => {
    expect(latencyIntensity(readings([45, 65, 85], (level) => curve(level, 5, 9, 20))).c).toBe(38);
    expect(() => latencyIntensity(readings([45, 45], curve))).toThrow(/needs at least 2 levels, got 1$/);
    expect(() => latencyIntensity(readings([45, 65], curve, 0))).toThrow(/latencySdMs must be > 0, got 0$/);
  });
});

/** Marked wave V of the click model at 27.7/s, as read off the noise-free response. */
const marked = (level: number) => curve(level) - 0.06 - 0.0025 * Math.max(0, level - 30);

describe('patternProbabilities', () => {
  const ears: [LatencyPattern, number[], (level: number) => number, number, string][] = [
    ['normal', LEVELS, marked, 3.74, 'the model itself'],
    ['parallel-shift', [55, 65, 75, 85], (level) => marked(level - 30), 3.74, '30 dB conductive'],
    ['steep', [60, 65, 75, 85], (level) => marked(recruited(level, 50).timingDbNhl), 3.74, 'cochlear, 50 dB'],
    ['prolonged-interval', [45, 65, 85], (level) => marked(level) + 0.6, 4.34, 'nerve, 0.6 ms'],
  ];
  it.each(ears)('%s is the most likely, by far (%j)', (pattern, levels, latency, interval) => {
    const probabilities = patternProbabilities({
      ratePerS: 27.7,
      waveV: readings(levels, latency),
      intervalMs: { value: interval, sd: 0.05 },
    });
    expect(probabilities[pattern]).toBeGreaterThan(0.8);
    expect(Object.values(probabilities).reduce((sum, value) => sum + value, 0)).toBeCloseTo(1, 12);
  });

  it('is calibrated: of verdicts held with 60 to 90 %, about so many are right (600 ears drawn from its own patterns)', () => {
    const draws = stream('7', 'test/patterns');
    let right = 0;
    let expected = 0;
    let count = 0;
    for (let k = 0; k < 600; k++) {
      const kind = k % 4;
      const strength = Math.floor(k / 4) % 9;
      const person = 0.2 * nextGaussian(draws);
      const pattern = (['normal', 'parallel-shift', 'steep', 'prolonged-interval'] as const)[kind];
      const delay = kind === 3 ? 0.3 + 0.1 * strength : 0;
      const latency = (level: number) => {
        const cochlear = recruited(level, kind === 2 ? 30 + 5 * strength : 0);
        const lossDb = kind === 1 ? 15 + 5 * strength : 0;
        const timingDb = cochlear.timingDbNhl - lossDb;
        return cochlear.levelDbNhl - lossDb < 3 ? NaN : marked(timingDb) + delay + person + 0.07 * nextGaussian(draws);
      };
      const waveV = readings([75, 80, 85], latency, 0.05).filter(({ latencyMs }) => !Number.isNaN(latencyMs));
      if (waveV.length === 0) continue;
      const intervalMs = { value: 3.74 + delay + 0.17 * nextGaussian(draws) + 0.05 * nextGaussian(draws), sd: 0.05 };
      const probabilities = patternProbabilities({ ratePerS: 27.7, waveV, intervalMs });
      const [best] = Object.entries(probabilities).sort((a, b) => b[1] - a[1]);
      if (best[1] < 0.6 || best[1] > 0.9) continue;
      count++;
      expected += best[1];
      if (best[0] === pattern) right++;
    }
    expect(count).toBeGreaterThan(100);
    expect(Math.abs(right - expected) / count).toBeLessThan(4 * Math.sqrt(0.19 / count));
  });

  it('goes by the interval alone where latencies fit several patterns, and by the rate', () => {
    const late = { ratePerS: 27.7, waveV: readings([85], (level) => marked(level) + 0.5) };
    const withInterval = patternProbabilities({ ...late, intervalMs: { value: 4.3, sd: 0.05 } });
    expect(withInterval['prolonged-interval']).toBeGreaterThan(patternProbabilities(late)['prolonged-interval']);
    const fast = { ratePerS: 77.7, waveV: readings(LEVELS, (level) => marked(level) + 0.275) };
    expect(patternProbabilities(fast).normal).toBeGreaterThan(0.8);
    expect(() => patternProbabilities({ ratePerS: 27.7, waveV: [] })).toThrow(/at least 1 latency/);
  });
});
