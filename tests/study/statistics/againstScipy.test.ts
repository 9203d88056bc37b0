import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { bootstrap } from '../../../src/study/statistics/bootstrap.ts';
import { centreOf } from '../../../src/study/statistics/centre.ts';
import { exactRate } from '../../../src/study/statistics/exactRate.ts';
import { normalQuantile, normalUpperTail } from '../../../src/study/statistics/normal.ts';
import { cloudEllipse } from '../../../src/study/statistics/pareto.ts';
import { signedRank } from '../../../src/study/statistics/wilcoxon.ts';

/** Made by fixtures/statistics.py with SciPy and NumPy. */
interface Fixtures {
  wilcoxon: { name: string; differences: number[]; rankSum: number; p: number }[];
  rate: { happened: number; count: number; low: number; high: number }[];
  normal: { z: number; tail: number }[];
  quantile: { p: number; z: number }[];
  bootstrap: { values: number[]; low: number; high: number; standardError: number }[];
  ellipse: { xs: number[]; ys: number[]; major: number; minor: number; cosine: number; sine: number }[];
}

const fixtures: Fixtures = JSON.parse(readFileSync(new URL('fixtures/statistics.json', import.meta.url), 'utf8'));

describe('against SciPy', () => {
  it.each(fixtures.wilcoxon)('signedRank: $name', ({ differences, rankSum, p }) => {
    const found = signedRank(differences);
    expect(found.rankSum).toBeCloseTo(rankSum, 9);
    expect(Math.abs(found.p / p - 1)).toBeLessThan(1e-9);
  });

  it.each(fixtures.rate)('exactRate: $happened of $count', ({ happened, count, low, high }) => {
    const found = exactRate(happened, count);
    expect(found.low).toBeCloseTo(low, 9);
    expect(found.high).toBeCloseTo(high, 9);
  });

  it.each(fixtures.normal)('normalUpperTail($z)', ({ z, tail }) => {
    expect(Math.abs(normalUpperTail(z) / tail - 1)).toBeLessThan(1e-11);
  });

  it.each(fixtures.quantile)('normalQuantile($p)', ({ p, z }) => {
    expect(Math.abs(normalQuantile(p) - z)).toBeLessThan(1e-8);
  });

  it.each(fixtures.bootstrap)('bootstrap: the interval of a mean, case %#', ({ values, low, high, standardError }) => {
    const found = bootstrap(values.length, (chosen) => centreOf('mean', values, chosen));
    // A percentile at 2.5 % of 1000 resamples scatters by √(p(1 − p)/1000)/φ = 0.085 standard errors of the mean.
    expect(Math.abs(found.low - low)).toBeLessThan(4 * 0.085 * standardError);
    expect(Math.abs(found.high - high)).toBeLessThan(4 * 0.085 * standardError);
  });

  it.each(fixtures.ellipse)('cloudEllipse, case %#', ({ xs, ys, major, minor, cosine, sine }) => {
    const found = cloudEllipse(xs, ys);
    expect(found.major).toBeCloseTo(major, 9);
    expect(found.minor).toBeCloseTo(minor, 9);
    expect(found.cosine).toBeCloseTo(cosine, 9);
    expect(found.sine).toBeCloseTo(sine, 9);
  });
});
