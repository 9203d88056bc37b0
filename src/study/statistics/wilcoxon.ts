import { normalUpperTail } from './normal.ts';

/** Result of Wilcoxon's signed-rank test. */
export interface SignedRank {
  /** Sum of the ranks of positive differences. */
  rankSum: number;
  /** Two-sided probability of a sum as extreme by chance; 1 where no difference is left. */
  p: number;
  /** Differences that are not zero. */
  count: number;
}

const LARGEST_EXACT = 50;

/**
 * Wilcoxon's signed-rank test of paired differences: are they as often, and as far, above zero as below?
 *
 * Zeros are left out and ties share their mean rank. Exact up to 50 differences without ties and zeros; otherwise the
 * normal approximation with the variance corrected for ties and no correction for continuity. F. Wilcoxon, Biometrics
 * Bull. 1(6), 1945, doi 10.2307/3001968.
 *
 * @param differences - NaN is left out
 * @example signedRank([1, 2, 3, 4, 5]).p // 0.0625
 */
export function signedRank(differences: readonly number[]): SignedRank {
  const known = differences.filter((value) => !Number.isNaN(value));
  const kept = known.filter((value) => value !== 0);
  const count = kept.length;
  if (count === 0) return { rankSum: 0, p: 1, count };
  const order = kept.map((value) => ({ size: Math.abs(value), positive: value > 0 })).sort((a, b) => a.size - b.size);
  let rankSum = 0;
  let tieTerm = 0; // Σ (t³ − t)
  for (let k = 0; k < count; ) {
    let end = k + 1;
    while (end < count && order[end].size === order[k].size) end++;
    const rank = (k + 1 + end) / 2;
    for (let j = k; j < end; j++) if (order[j].positive) rankSum += rank;
    const ties = end - k;
    tieTerm += ties * ties * ties - ties;
    k = end;
  }
  const isExact = count <= LARGEST_EXACT && tieTerm === 0 && kept.length === known.length;
  return { rankSum, p: isExact ? exactP(rankSum, count) : approximateP(rankSum, count, tieTerm), count };
}

/** Counts, of all 2^n choices of signs, those whose sum is as extreme. */
function exactP(rankSum: number, count: number): number {
  const largest = (count * (count + 1)) / 2;
  const ways = new Float64Array(largest + 1);
  ways[0] = 1;
  for (let rank = 1; rank <= count; rank++) {
    for (let sum = largest; sum >= rank; sum--) ways[sum] = (ways[sum] + ways[sum - rank]) / 2;
    for (let sum = 0; sum < rank; sum++) ways[sum] /= 2;
  }
  const extreme = Math.min(rankSum, largest - rankSum);
  let tail = 0;
  for (let sum = 0; sum <= extreme; sum++) tail += ways[sum];
  return Math.min(1, 2 * tail);
}

function approximateP(rankSum: number, count: number, tieTerm: number): number {
  const mean = (count * (count + 1)) / 4;
  const variance = (count * (count + 1) * (2 * count + 1)) / 24 - tieTerm / 48;
  return Math.min(1, 2 * normalUpperTail(Math.abs(rankSum - mean) / Math.sqrt(variance)));
}
