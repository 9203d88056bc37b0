import { fExceeds } from './fDistribution.ts';
import type { SweepGroups } from './groupedSweeps.ts';

/** Result of Hotelling's test. */
export interface HotellingTest {
  /** T² of the bin means against zero; NaN if it cannot be worked out. */
  tSquared: number;
  /** T² as an F: (n − q)/(q(n − 1))·T². */
  f: number;
  /** Degrees of freedom q and n − q. */
  binCount: number;
  restDf: number;
  p: number;
}

/**
 * Tests whether any part of an average differs from zero: Hotelling's T² on means over time bins.
 *
 *     T² = n·m'·S⁻¹·m,   F = (n − q)/(q·(n − 1))·T² ~ F(q, n − q) without a response
 *
 * n groups of sweeps, q bins of equal length, m the mean and S the covariance of the bins over groups. Unlike Fsp it
 * needs no assumed degrees of freedom: how bins hang together is estimated. Assumes independent groups of Gaussian noise
 * of one size; robust otherwise for many groups. Each bin loses the mean over the window: a constant offset is no response.
 *
 * @param binCount - 2 … 25, fewer than the groups by 2 at least; a bin is a mean over its samples
 * @returns NaN for T², F and p where the covariance is singular   @throws {RangeError} for too few groups, points or bins
 */
export function hotellingTest(groups: SweepGroups, binCount: number): HotellingTest {
  const { groupCount: n, pointCount } = groups;
  if (!(binCount >= 2 && binCount <= 25 && Number.isInteger(binCount) && binCount <= pointCount)) {
    throw new RangeError(`hotellingTest: binCount must be a whole number from 2 to 25, got ${binCount}`);
  }
  // Bins without their common mean sum to zero: one of them says nothing new.
  const q = binCount - 1;
  if (!(n >= q + 2)) throw new RangeError(`hotellingTest: groups must be at least ${q + 2}, got ${n}`);
  const bins = binMeans(groups, binCount);
  const mean = new Float64Array(q);
  for (let g = 0; g < n; g++) for (let a = 0; a < q; a++) mean[a] += bins[g * binCount + a] / n;
  const covariance = new Float64Array(q * q);
  for (let g = 0; g < n; g++) {
    for (let a = 0; a < q; a++) {
      const away = bins[g * binCount + a] - mean[a];
      for (let b = 0; b <= a; b++) covariance[a * q + b] += (away * (bins[g * binCount + b] - mean[b])) / (n - 1);
    }
  }
  const tSquared = n * quadraticForm(covariance, mean);
  const f = ((n - q) / (q * (n - 1))) * tSquared;
  return { tSquared, f, binCount: q, restDf: n - q, p: fExceeds(f, q, n - q) };
}

/** Bin means of each group, scaled so that their mean over groups is that of the weighted average; row mean removed. */
function binMeans({ groupCount, pointCount, sumsUv, weights }: SweepGroups, binCount: number): Float64Array {
  let weightSum = 0;
  for (let g = 0; g < groupCount; g++) weightSum += weights[g];
  const scale = groupCount / weightSum;
  const bins = new Float64Array(groupCount * binCount);
  for (let g = 0; g < groupCount; g++) {
    let rowMean = 0;
    for (let b = 0; b < binCount; b++) {
      const from = Math.floor((b * pointCount) / binCount);
      const to = Math.floor(((b + 1) * pointCount) / binCount);
      let sum = 0;
      for (let i = from; i < to; i++) sum += sumsUv[g * pointCount + i];
      bins[g * binCount + b] = (scale * sum) / (to - from);
      rowMean += bins[g * binCount + b] / binCount;
    }
    for (let b = 0; b < binCount; b++) bins[g * binCount + b] -= rowMean;
  }
  return bins;
}

/** v'·M⁻¹·v for a symmetric positive matrix (lower triangle given), by Cholesky; NaN if it is singular. */
function quadraticForm(matrix: Float64Array, vector: Float64Array): number {
  const q = vector.length;
  const lower = new Float64Array(q * q);
  const solved = new Float64Array(q); // L⁻¹·v
  let form = 0;
  for (let a = 0; a < q; a++) {
    for (let b = 0; b <= a; b++) {
      let rest = matrix[a * q + b];
      for (let c = 0; c < b; c++) rest -= lower[a * q + c] * lower[b * q + c];
      if (b < a) lower[a * q + b] = rest / lower[b * q + b];
      else {
        if (!(rest > 1e-12 * matrix[a * q + a])) return NaN;
        lower[a * q + a] = Math.sqrt(rest);
      }
    }
    let rest = vector[a];
    for (let c = 0; c < a; c++) rest -= lower[a * q + c] * solved[c];
    solved[a] = rest / lower[a * q + a];
    form += solved[a] * solved[a];
  }
  return form;
}
