import { nextUniform, nextWord, type Stream } from '../core/random/stream.ts';

/**
 * Spreads points evenly over the unit cube: each of `count` slices of each axis holds exactly one point.
 *
 *     u[j][axis] = (π_axis(j) + U) / count,   π a random permutation
 *
 * M. D. McKay, R. J. Beckman and W. J. Conover, Technometrics 21(2), 1979, doi 10.1080/00401706.1979.10489755.
 *
 * @returns [point][axis], each 0 < u < 1
 */
export function latinHypercube(draws: Stream, count: number, axisCount: number): number[][] {
  const points = Array.from({ length: count }, () => new Array<number>(axisCount).fill(0));
  for (let axis = 0; axis < axisCount; axis++) {
    const order = permutation(draws, count);
    for (let j = 0; j < count; j++) points[j][axis] = (order[j] + nextUniform(draws)) / count;
  }
  return points;
}

/** The numbers 0 … count − 1 in random order (Fisher and Yates). */
function permutation(draws: Stream, count: number): number[] {
  const order = Array.from({ length: count }, (_, j) => j);
  for (let j = count - 1; j > 0; j--) {
    const other = (nextWord(draws) >>> 0) % (j + 1);
    [order[j], order[other]] = [order[other], order[j]];
  }
  return order;
}
