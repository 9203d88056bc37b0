import { describe, expect, it } from 'vitest';
import {
  brierShare,
  rampShare,
  rankingShare,
  ratioShare,
  toleranceShare,
  yesNoShare,
} from '../../src/lessons/score.ts';

describe('ratioShare', () => {
  const cases = [
    // given, truth, scale, share, why
    [1900, 1900, 0.35, 1, 'right'],
    [3800, 1900, 0.35, 2 ** (-1 / 0.35), 'twice too many: exp(−ln 2 / 0.35)'],
    [950, 1900, 0.35, 2 ** (-1 / 0.35), 'half costs as much as twice'],
    [0, 1900, 0.35, 0, 'zero has no logarithm'],
    [-1900, 1900, 0.35, 0, 'nor has a negative number'],
    [NaN, 1900, 0.35, 0, 'no answer'],
    [1900, NaN, 0.35, 0, 'the model has no figure'],
    [Infinity, Infinity, 0.35, 0, 'never is not a number'],
  ] as const;
  it.each(cases)('of %d for %d at scale %d is %d: %s', (given, truth, scale, share) => {
    expect(ratioShare(given, truth, scale)).toBeCloseTo(share, 12);
  });
});

describe('toleranceShare', () => {
  const cases = [
    [-0.5, -0.5, 0.05, 1, 'right, and negative'],
    [-0.54, -0.5, 0.05, 1, 'within the tolerance'],
    [-0.6, -0.5, 0.05, 0.5, 'twice the tolerance'],
    [-0.66, -0.5, 0.05, 0, 'beyond three times'],
    [0.5, -0.5, 0.05, 0, 'sign forgotten'],
    [NaN, -0.5, 0.05, 0, 'no answer'],
  ] as const;
  it.each(cases)('of %d for %d ± %d is %d: %s', (given, truth, tolerance, share) => {
    expect(toleranceShare(given, truth, tolerance)).toBeCloseTo(share, 9);
  });
});

describe('rankingShare', () => {
  const cases = [
    [[0, 1, 2], [10, 20, 30], 0, 1, 'right'],
    [[0, 2, 1], [10, 20, 30], 0, 1 / 3, 'one pair of three wrong: τ = (2 − 1)/3'],
    [[2, 1, 0], [10, 20, 30], 0, 0, 'reversed: τ = −1, no less than nothing'],
    [[1, 0, 2], [20, 21, 30], 0.1, 1, 'the first two are too near to count'],
    [[0, 1], [5, 5], 0, 1, 'nothing to order'],
    [[0, 1], [10, NaN], 0.1, 1, 'no figure stands for the highest'],
    [[1, 0], [10, NaN], 0.1, 0, 'and is wrong at the low end'],
    [[0, 1], [10, Infinity], 0.1, 1, 'so is an average without sweeps'],
    [[0, 1], [0, 1e-9], 0.3, 1, 'zero is lower than anything, no ratio saves it'],
  ] as const;
  it.each(cases)('of order %j for %j, tie %d, is %d: %s', (order, truth, tie, share) => {
    expect(rankingShare(order, truth, tie)).toBeCloseTo(share, 12);
  });
});

describe('yesNoShare', () => {
  const cases = [
    [[true, false], [true, false], 1, 'all right'],
    [[true, true], [true, false], 0, 'half right is what chance gives'],
    [[true, true, true, false], [true, true, true, true], 0.5, 'three of four'],
    [[false, false], [true, true], 0, 'all wrong: no less than nothing'],
  ] as const;
  it.each(cases)('of %j for %j is %d: %s', (given, truth, share) => {
    expect(yesNoShare(given, truth)).toBe(share);
  });
});

describe('rampShare', () => {
  const cases = [
    [1.0, 1.1, 1.5, 1, 'better than full'],
    [1.3, 1.1, 1.5, 0.5, 'half way'],
    [1.6, 1.1, 1.5, 0, 'worse than none'],
    [0.02, 0.03, 0.01, 0.5, 'higher is better'],
    [NaN, 1.1, 1.5, 0, 'no figure'],
    [Infinity, 0.6, 0.3, 0, 'what never happened earns nothing, even where higher is better'],
    [-Infinity, 1.1, 1.5, 0, 'nor where lower is'],
  ] as const;
  it.each(cases)('of %d, full %d, none %d, is %d: %s', (value, full, none, share) => {
    expect(rampShare(value, full, none)).toBeCloseTo(share, 9);
  });
});

describe('brierShare', () => {
  const cases = [
    [[1, 1], [true, true], 1, 'sure and right'],
    [[0, 1], [false, true], 1, 'knows what it does not know'],
    [[0.5, 0.5], [true, false], 0, 'says nothing, earns nothing'],
    [[1, 1], [false, false], 0, 'sure and wrong: no less than nothing'],
    [[1, 0.5], [true, false], 0.5, 'by hand: 1 − 4·(0 + 0.25)/2'],
    [[NaN], [true], 0, 'not said counts as 50 %'],
    [[7], [true], 0, 'nonsense too'],
    [[], [], 0, 'nothing to be sure of'],
  ] as const;
  it.each(cases)('of %j for %j is %d: %s', (said, right, share) => {
    expect(brierShare(said, right)).toBeCloseTo(share, 12);
  });

  it('is proper: who believes 0.7 expects the most by saying 0.7', () => {
    const expected = (said: number) => 0.7 * (1 - 4 * (said - 1) ** 2) + 0.3 * (1 - 4 * said ** 2);
    for (const other of [0.5, 0.6, 0.65, 0.75, 0.8, 0.9]) expect(expected(0.7)).toBeGreaterThan(expected(other));
    expect(brierShare([0.7], [true])).toBeCloseTo(1 - 4 * 0.3 ** 2, 12);
  });
});
