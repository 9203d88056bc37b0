/**
 * A recording's sweeps in at most 128 groups of successive sweeps, analysis window only.
 *
 * The estimate is Σ sums / Σ weights. Tests that need every sweep (sign flips, bootstrap, Hotelling) work on groups:
 * neighbours that are alike stay together, and memory is bounded whatever the length of the session.
 */
export interface SweepGroups {
  groupCount: number;
  pointCount: number;
  /** Σ w·x of each group, µV, group after group. */
  sumsUv: Float64Array;
  /** Σ w of each group. */
  weights: Float64Array;
  sweepsPerGroup: number;
}

/** Gathers sweeps into groups as they come. */
export interface GroupedSweeps {
  /** Takes in a sweep, µV, with its weight ≥ 0. */
  add(sweepUv: Float64Array, weight?: number): void;
  /** The complete groups so far; the array is a copy. Sweeps of a group that is not complete are left out. */
  groups(): SweepGroups;
}

const MOST_GROUPS = 128; // our choice: enough for 1/128 steps of a spending rule, few enough for 1000 sign flips

/**
 * Makes an empty gatherer for samples [from, to) of each sweep.
 *
 * Groups begin as pairs, so that each holds both polarities. When there are 128 of them, neighbours are joined: all
 * groups have the same number of sweeps, between 64 and 128 of them, and at most 1/64 of the sweeps wait outside.
 *
 * @throws {RangeError} if the window is empty
 */
export function groupedSweeps(from: number, to: number): GroupedSweeps {
  if (!(from >= 0 && to > from)) throw new RangeError(`groupedSweeps: window must not be empty, got ${from} to ${to}`);
  const pointCount = to - from;
  const sumsUv = new Float64Array(MOST_GROUPS * pointCount);
  const weights = new Float64Array(MOST_GROUPS);
  let sweepsPerGroup = 2;
  let groupCount = 0; // complete ones; the one in the making lies behind them
  let inMaking = 0;

  function joinNeighbours(): void {
    for (let g = 0; g < MOST_GROUPS / 2; g++) {
      weights[g] = weights[2 * g] + weights[2 * g + 1];
      const target = g * pointCount;
      const source = 2 * g * pointCount;
      for (let i = 0; i < pointCount; i++) sumsUv[target + i] = sumsUv[source + i] + sumsUv[source + pointCount + i];
    }
    weights.fill(0, MOST_GROUPS / 2);
    sumsUv.fill(0, (MOST_GROUPS / 2) * pointCount);
    sweepsPerGroup *= 2;
    groupCount = MOST_GROUPS / 2;
  }

  return {
    add(sweepUv, weight = 1) {
      if (groupCount === MOST_GROUPS) joinNeighbours();
      const at = groupCount * pointCount;
      if (weight > 0) {
        for (let i = 0; i < pointCount; i++) sumsUv[at + i] += weight * sweepUv[from + i];
        weights[groupCount] += weight;
      }
      if (++inMaking < sweepsPerGroup) return;
      inMaking = 0;
      groupCount++;
    },
    groups: () => ({
      groupCount,
      pointCount,
      sumsUv: sumsUv.slice(0, groupCount * pointCount),
      weights: weights.slice(0, groupCount),
      sweepsPerGroup,
    }),
  };
}

/** Writes the weighted average of the groups, µV; NaN if they have no weight. */
export function readGroups({ groupCount, pointCount, sumsUv, weights }: SweepGroups, outUv: Float64Array): void {
  outUv.fill(0, 0, pointCount);
  let weightSum = 0;
  for (let g = 0; g < groupCount; g++) {
    weightSum += weights[g];
    const at = g * pointCount;
    for (let i = 0; i < pointCount; i++) outUv[i] += sumsUv[at + i];
  }
  for (let i = 0; i < pointCount; i++) outUv[i] /= weightSum;
}

/** Writes the weighted averages of the even and of the odd groups, µV; NaN for a half without weight. */
export function readHalves(
  { groupCount, pointCount, sumsUv, weights }: SweepGroups,
  halvesUv: readonly Float64Array[],
): void {
  const weightSums = [0, 0];
  for (const half of halvesUv) half.fill(0);
  for (let g = 0; g < groupCount; g++) {
    const half = halvesUv[g % 2];
    weightSums[g % 2] += weights[g];
    for (let i = 0; i < pointCount; i++) half[i] += sumsUv[g * pointCount + i];
  }
  for (let h = 0; h < 2; h++) for (let i = 0; i < pointCount; i++) halvesUv[h][i] /= weightSums[h];
}

/**
 * Writes noise² of the average at each point, from the scatter of the groups, µV².
 *
 *     noise²(t) = G/(G − 1)·Σ_g (S_g(t) − W_g·ŝ(t))² / (Σ W)²
 *
 * NaN for fewer than two groups with weight. Unlike single sweeps, groups see neighbours that are alike.
 */
export function readGroupNoiseUv2(groups: SweepGroups, averageUv: Float64Array, outUv2: Float64Array): void {
  const { groupCount, pointCount, sumsUv, weights } = groups;
  let weightSum = 0;
  let carrying = 0;
  for (let g = 0; g < groupCount; g++) {
    weightSum += weights[g];
    if (weights[g] > 0) carrying++;
  }
  outUv2.fill(0, 0, pointCount);
  for (let g = 0; g < groupCount; g++) {
    const at = g * pointCount;
    for (let i = 0; i < pointCount; i++) {
      const away = sumsUv[at + i] - weights[g] * averageUv[i];
      outUv2[i] += away * away;
    }
  }
  const factor = carrying > 1 ? carrying / (carrying - 1) / (weightSum * weightSum) : NaN;
  for (let i = 0; i < pointCount; i++) outUv2[i] *= factor;
}
