import { timeToTarget } from './timeToTarget.ts';

/** Residual noise against time of one lane. */
export interface NoiseCurve {
  /** Rising, s. */
  seconds: ArrayLike<number>;
  /** Expected true residual noise at those times, nV. */
  noiseNv: ArrayLike<number>;
}

/** What a lane has lost against an oracle that knows the true noise of every sweep. */
export interface Regret {
  /** Time at which the lane reaches the target, s; Infinity for never. */
  laneS: number;
  oracleS: number;
  /** laneS − oracleS, s: Infinity if only the oracle arrives, NaN if neither does. */
  lostS: number;
  /** Noise at the end over that of the oracle; 1 for a lane that knows as much. */
  noiseRatio: number;
}

/**
 * Measures a lane's regret: the time lost to a target against the oracle on the same sweeps.
 *
 * The oracle weighs by 1/v with the true variances: no unbiased weighting of independent sweeps can be quieter. A lane
 * can have a regret below 0 by chance, or because it shrinks the response.
 *
 * @throws {RangeError} if a curve is empty or its lengths differ
 * @example regret({ seconds: [1, 2], noiseNv: [9, 4] }, { seconds: [1, 2], noiseNv: [5, 3] }, 5).lostS // 1
 */
export function regret(lane: NoiseCurve, oracle: NoiseCurve, targetNv: number): Regret {
  const laneS = arrivalS(lane, targetNv);
  const oracleS = arrivalS(oracle, targetNv);
  const last = (curve: NoiseCurve) => curve.noiseNv[curve.noiseNv.length - 1];
  return { laneS, oracleS, lostS: laneS - oracleS, noiseRatio: last(lane) / last(oracle) };
}

function arrivalS({ seconds, noiseNv }: NoiseCurve, targetNv: number): number {
  if (!(seconds.length >= 1 && noiseNv.length === seconds.length)) {
    throw new RangeError(`regret: a curve needs as many noises as times, got ${noiseNv.length} and ${seconds.length}`);
  }
  const j = timeToTarget(noiseNv, targetNv);
  return j < 0 ? Infinity : seconds[j];
}
