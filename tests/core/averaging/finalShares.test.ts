import { describe, expect, it } from 'vitest';
import { finalShares } from '../../../src/core/averaging/finalShares.ts';

describe('finalShares', () => {
  const cases = [
    // decisions [index, weight, fade], sweeps, shares, why
    [
      [
        [0, 1, 1],
        [1, 3, 1],
      ],
      2,
      [0.25, 0.75],
      'nothing fades',
    ],
    [
      [
        [0, 1, 1],
        [1, 1, 0.5],
      ],
      2,
      [1 / 3, 2 / 3],
      'the past counts half',
    ],
    [
      [
        [0, 1, 1],
        [1, 0, 0.5],
        [2, 1, 1],
      ],
      3,
      [1 / 3, 0, 2 / 3],
      'time passes over a sweep that is left out',
    ],
    [
      [
        [0, 4, 1],
        [1, 2, 0.5],
        [2, 1, 0.5],
      ],
      3,
      [1 / 3, 1 / 3, 1 / 3],
      'fades multiply',
    ],
    [
      [
        [2, 1, 1],
        [0, 1, 1],
      ],
      4,
      [0.5, 0, 0.5, 0],
      'in the order of decisions; undecided sweeps have none',
    ],
    [
      [
        [0, 0, 1],
        [1, 0, 1],
      ],
      2,
      [0, 0],
      'none counts',
    ],
    [[], 2, [0, 0], 'no decision yet'],
  ] as const;
  it.each(cases)('%j', (decisions, sweepCount, expected, why) => {
    const shares = finalShares(
      decisions.map(([index, weight, fade]) => ({ index, weight, fade })),
      sweepCount,
    );
    for (const [k, share] of expected.entries()) expect(shares[k], why).toBeCloseTo(share, 12);
    expect(shares).toHaveLength(sweepCount);
  });
});
