import { exp, log } from '../elementary.ts';
import { quantile } from './honesty.ts';
import { normalCritical, normalExceeds } from './normalDistribution.ts';

/**
 * How the error that one may make is handed out over the looks.
 *
 *     pocock:           α(t) = α·ln(1 + (e − 1)·t)          evenly: early looks may decide
 *     obrien-fleming:   α(t) = 2·P(Z > z_{α/2}/√t)           sparingly: almost all of it is kept for the end
 *
 * t is the share of the session that has passed. K. K. G. Lan & D. L. DeMets, Biometrika 70, 1983, 659–663 (from memory).
 */
export type Spending = 'pocock' | 'obrien-fleming';

/**
 * Works out how much of the allowed error has been spent by a share of the session.
 *
 * @param share - 0 … 1   @param alpha - error for the whole session   @returns 0 … α
 * @throws {RangeError} unless 0 < alpha < 1 and 0 ≤ share ≤ 1   @example spentAlpha('pocock', 1, 0.05) // 0.05
 */
export function spentAlpha(spending: Spending, share: number, alpha: number): number {
  if (!(alpha > 0 && alpha < 1)) throw new RangeError(`spentAlpha: alpha must lie between 0 and 1, got ${alpha}`);
  if (!(share >= 0 && share <= 1)) throw new RangeError(`spentAlpha: share must lie within 0 to 1, got ${share}`);
  if (share === 0) return 0;
  return spending === 'pocock'
    ? alpha * log(1 + (exp(1) - 1) * share)
    : 2 * normalExceeds(normalCritical(alpha / 2) / Math.sqrt(share));
}

/** A statistic at each look of runs without a response: `chance[run][look]`. NaN never exceeds a limit. */
export type ChanceRuns = readonly ArrayLike<number>[];

/**
 * Counts how often at least one of several looks raises a false alarm.
 *
 * @param chance - runs without a response   @param limits - one limit for each look, or one for all
 * @returns share of runs, 0 … 1   @throws {RangeError} for no run
 * @example familywiseRate([[1, 3], [1, 1]], 2) // 0.5
 */
export function familywiseRate(chance: ChanceRuns, limits: number | ArrayLike<number>): number {
  if (!(chance.length >= 1)) throw new RangeError('familywiseRate: at least 1 run is needed, got none');
  let alarms = 0;
  for (const run of chance) {
    for (let look = 0; look < run.length; look++) {
      if (!(run[look] > (typeof limits === 'number' ? limits : limits[look]))) continue;
      alarms++;
      break;
    }
  }
  return alarms / chance.length;
}

/**
 * Finds the one limit that keeps the error over all looks at α: the 1 − α quantile of each run's largest value.
 *
 * Known to ±√(α(1 − α)/runs) in terms of error: use some thousand runs for α = 5 %.
 *
 * @throws {RangeError} for fewer than 1/α runs: the quantile would be the largest value seen
 */
export function constantLimit(chance: ChanceRuns, alpha: number): number {
  if (!(chance.length * alpha >= 1)) {
    throw new RangeError(`constantLimit: at least ${Math.ceil(1 / alpha)} runs are needed, got ${chance.length}`);
  }
  const largest = Float64Array.from(chance, (run) => {
    let most = -Infinity;
    for (let look = 0; look < run.length; look++) if (run[look] > most) most = run[look];
    return most;
  });
  largest.sort();
  return quantile(largest, 1 - alpha);
}

/**
 * Finds a limit for each look so that the error spent by then is what the spending rule allows.
 *
 * At each look the limit is the quantile, among the runs that have not stopped yet, that lets the newly allowed share of
 * all runs through. Nothing is assumed of the statistic: Fmp, T² and 1 − p do equally.
 *
 * @param shares - rising shares of the session at the looks, the last one 1
 * @returns a limit for each look; Infinity where the rule allows less than one run
 * @throws {RangeError} if there are fewer than 1/α runs, or lengths disagree
 */
export function spendingLimits(
  chance: ChanceRuns,
  shares: readonly number[],
  alpha: number,
  spending: Spending,
): number[] {
  if (!(chance.length * alpha >= 1)) {
    throw new RangeError(`spendingLimits: at least ${Math.ceil(1 / alpha)} runs are needed, got ${chance.length}`);
  }
  if (chance.some((run) => run.length !== shares.length)) {
    throw new RangeError(`spendingLimits: every run must have ${shares.length} looks`);
  }
  let going = [...chance];
  return shares.map((share, look) => {
    // Counted from what has really been spent: a run too few at one look is made good at the next.
    const allowed = Math.round(spentAlpha(spending, share, alpha) * chance.length) - (chance.length - going.length);
    if (allowed <= 0) return Infinity;
    const falling = going.map((run) => run[look]).sort((a, b) => b - a);
    const limit = allowed < falling.length ? (falling[allowed - 1] + falling[allowed]) / 2 : -Infinity;
    going = going.filter((run) => !(run[look] > limit));
    return limit;
  });
}
