import { nextWord, type Stream, stream } from '../random/stream.ts';
import { readGroups, type SweepGroups } from './groupedSweeps.ts';

/** A statistic and how often chance alone makes it as large. */
export interface NullTest {
  value: number;
  /** (1 + number of chance values ≥ value)/(1 + number of draws); NaN if the value is NaN. */
  p: number;
  /** Chance values in rising order. */
  chance: Float64Array;
}

/**
 * Tests a statistic by turning random groups of sweeps upside down.
 *
 * Without a response a group is as likely as its mirror image, whatever the spectrum of the noise, its size from group to
 * group, or the weights (if they do not depend on the sign of a sweep). No degrees of freedom are assumed. Fails where
 * groups are not independent: a hum that locks is a response to it.
 *
 * @param statistic - large for a response; gets groups whose arrays are reused
 * @param draws - number of random flips   @param seed - names the stream: same seed, same p
 * @throws {RangeError} for fewer than 6 groups (2⁶ flips cannot tell 5 % from chance) or no draw
 */
export function signFlipTest(
  groups: SweepGroups,
  statistic: (groups: SweepGroups) => number,
  draws: number,
  seed: string,
): NullTest {
  checkTest('signFlipTest', groups, draws);
  const { groupCount, pointCount, sumsUv } = groups;
  const flipped = { ...groups, sumsUv: new Float64Array(sumsUv.length) };
  const random = stream(seed, 'null/sign-flip');
  return compare(groups, statistic, draws, () => {
    for (let g = 0; g < groupCount; g++) {
      const sign = nextWord(random) < 0 ? -1 : 1;
      const end = (g + 1) * pointCount;
      for (let i = g * pointCount; i < end; i++) flipped.sumsUv[i] = sign * sumsUv[i];
    }
    return flipped;
  });
}

/**
 * Tests a statistic by drawing groups again after the response has been taken off: bootstrap under no response.
 *
 * Each group loses its share of the average, W_g·ŝ, and as many groups are drawn with replacement. The first published
 * bootstrap for this purpose drew from the continuous recording; drawing groups keeps the time course within sweeps.
 *
 * @throws {RangeError} for fewer than 6 groups or no draw
 */
export function bootstrapTest(
  groups: SweepGroups,
  statistic: (groups: SweepGroups) => number,
  draws: number,
  seed: string,
): NullTest {
  checkTest('bootstrapTest', groups, draws);
  const { groupCount, pointCount, sumsUv, weights } = groups;
  const averageUv = new Float64Array(pointCount);
  readGroups(groups, averageUv);
  const drawn = { ...groups, sumsUv: new Float64Array(sumsUv.length), weights: new Float64Array(groupCount) };
  const random = stream(seed, 'null/bootstrap');
  return compare(groups, statistic, draws, () => {
    for (let g = 0; g < groupCount; g++) {
      const source = below(random, groupCount);
      drawn.weights[g] = weights[source];
      for (let i = 0; i < pointCount; i++) {
        drawn.sumsUv[g * pointCount + i] = sumsUv[source * pointCount + i] - weights[source] * averageUv[i];
      }
    }
    return drawn;
  });
}

/** A whole number from 0 to count − 1. */
function below(random: Stream, count: number): number {
  return (nextWord(random) >>> 0) % count;
}

function compare(
  groups: SweepGroups,
  statistic: (groups: SweepGroups) => number,
  draws: number,
  next: () => SweepGroups,
): NullTest {
  const value = statistic(groups);
  const chance = new Float64Array(draws);
  let reached = 0;
  for (let k = 0; k < draws; k++) {
    chance[k] = statistic(next());
    if (!(chance[k] < value)) reached++; // a chance value that cannot be told counts against the response
  }
  chance.sort();
  return { value, p: Number.isNaN(value) ? NaN : (1 + reached) / (1 + draws), chance };
}

function checkTest(name: string, { groupCount }: SweepGroups, draws: number): void {
  if (!(groupCount >= 6)) throw new RangeError(`${name}: groups must be at least 6, got ${groupCount}`);
  if (!(draws >= 1)) throw new RangeError(`${name}: draws must be >= 1, got ${draws}`);
}
