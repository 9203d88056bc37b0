import { exp, log } from '../core/elementary.ts';

/**
 * Share of the points for a positive number: 1 if right, less by the ratio to the truth.
 *
 *     share = exp(−|ln(given/true)| / scale)
 *
 * @returns 0 … 1; 0 if either is not a positive number
 * @example ratioShare(2000, 1900, 0.35) // 0.863…
 */
export function ratioShare(given: number, truth: number, scale: number): number {
  if (!(given > 0 && truth > 0 && given < Infinity && truth < Infinity)) return 0;
  const distance = log(given / truth);
  return exp(-(distance < 0 ? -distance : distance) / scale);
}

/**
 * Share of the points for a number with a tolerance: 1 within it, falling to 0 at three times the tolerance.
 *
 * @returns 0 … 1; 0 if a number is NaN
 * @example toleranceShare(-0.6, -0.5, 0.05) // 0.5
 */
export function toleranceShare(given: number, truth: number, tolerance: number): number {
  const distance = Math.abs(given - truth) / tolerance;
  return distance <= 3 ? Math.min(1, (3 - distance) / 2) : 0;
}

/**
 * Share of the points for an order: Kendall's τ over the pairs that differ in truth, never below 0.
 *
 *     τ = (pairs in the right order − pairs in the wrong order) / pairs that count
 *
 * A pair counts if the larger figure exceeds the smaller by more than the tie, as a ratio; a figure that is not a
 * number stands for the highest of all. Source: M. G. Kendall, Biometrika 30, 1938; leaving near-ties out is our choice.
 *
 * @param order - item numbers, lowest first   @param truth - figure of each item, > 0
 * @example rankingShare([0, 2, 1], [10, 20, 30], 0.1) // 0.333…
 */
export function rankingShare(order: readonly number[], truth: readonly number[], tie: number): number {
  let concordant = 0;
  let counted = 0;
  for (let i = 0; i < order.length; i++) {
    for (let j = i + 1; j < order.length; j++) {
      const first = Number.isNaN(truth[order[i]]) ? Infinity : truth[order[i]];
      const second = Number.isNaN(truth[order[j]]) ? Infinity : truth[order[j]];
      const low = Math.min(first, second);
      if (first === second || Math.max(first, second) <= low * (1 + tie)) continue;
      counted++;
      concordant += first === low ? 1 : -1;
    }
  }
  return counted > 0 ? Math.max(0, concordant / counted) : 1;
}

/** Share of the points for yes or no on each item: right answers less wrong ones, never below 0. */
export function yesNoShare(given: readonly boolean[], truth: readonly boolean[]): number {
  let balance = 0;
  for (let k = 0; k < truth.length; k++) balance += given[k] === truth[k] ? 1 : -1;
  return Math.max(0, balance / truth.length);
}

/**
 * Share of the points for knowing how sure to be: Brier's score, put so that always saying 50 % earns nothing.
 *
 *     share = 1 − 4·mean((p − right)²), not below 0
 *
 * A proper rule: whatever one believes, saying just that expects the most. Source: G. W. Brier, Monthly Weather
 * Review 78, 1950; the scale is our choice.
 *
 * @param said - probability given to each prediction's being right, 0 … 1; NaN counts as 0.5   @param right - outcome
 * @example brierShare([1, 0.5], [true, false]) // 0.5
 */
export function brierShare(said: readonly number[], right: readonly boolean[]): number {
  let sum = 0;
  for (let k = 0; k < right.length; k++) {
    const miss = (said[k] >= 0 && said[k] <= 1 ? said[k] : 0.5) - (right[k] ? 1 : 0);
    sum += miss * miss;
  }
  return right.length > 0 ? Math.max(0, 1 - (4 * sum) / right.length) : 0;
}

/**
 * Share of the points for an outcome: 1 at `full` or better, 0 at `none` or worse, in proportion between.
 *
 * @returns 0 … 1; 0 for NaN and for what never happened (±Infinity)
 * @example rampShare(1.3, 1.1, 1.5) // 0.5
 */
export function rampShare(value: number, full: number, none: number): number {
  const share = (value - none) / (full - none);
  return share > 0 && share < Infinity ? Math.min(1, share) : 0;
}
