import { isHollow } from './amplitudeGain.ts';
import { type Expected, meanOf, overReplicates, rmsOf } from './replicates.ts';
import { decibels } from './signalToNoise.ts';
import { timeToTarget } from './timeToTarget.ts';

/** Runs of one strategy over replicate patients: `noiseNv[replicate][checkpoint]`. */
export interface NoiseRuns {
  noiseNv: readonly ArrayLike<number>[];
  /** Amplitude gain at the end of each replicate. */
  gains: ArrayLike<number>;
}

/** A strategy against the plain mean on the same sweeps. */
export interface Efficiency {
  /** η = 20·log₁₀(e_plain/e_strategy) at the end, dB: above 0 is quieter. */
  noiseDb: Expected;
  /** T_plain(θ)/T_strategy(θ): above 1 is faster; 0 if only the plain mean arrives, Infinity if only the strategy does. */
  timeRatio: Expected;
  /** True where the mean gain lies outside 0.95–1.05: the figures are hollow. */
  hollow: boolean;
}

/**
 * Compares a strategy with the plain mean, replicate by replicate on the same sweeps.
 *
 * Expected noise is the root mean square over replicates; times are those at which it comes down to the target for
 * good. Resampled in pairs, so that a restless patient counts for both.
 *
 * @param seconds - time of each checkpoint   @param targetNv - θ
 * @throws {RangeError} if the runs are empty or do not match
 */
export function efficiency(
  plain: NoiseRuns,
  strategy: NoiseRuns,
  seconds: ArrayLike<number>,
  targetNv: number,
): Efficiency {
  const count = plain.noiseNv.length;
  const fits = [...plain.noiseNv, ...strategy.noiseNv].every((run) => run.length === seconds.length);
  if (!(count >= 1 && strategy.noiseNv.length === count && strategy.gains.length === count && fits)) {
    throw new RangeError(
      `efficiency: both must have the same replicates and checkpoints, got ${count} and ${strategy.noiseNv.length}`,
    );
  }
  const last = seconds.length - 1;
  const columns = (runs: NoiseRuns) =>
    Array.from({ length: seconds.length }, (_, j) => runs.noiseNv.map((run) => run[j]));
  const ofPlain = columns(plain);
  const ofStrategy = columns(strategy);
  const arrival = (checkpoints: readonly number[][], chosen: ArrayLike<number>) => {
    const curve = Float64Array.from(checkpoints, (values) => rmsOf(values, chosen));
    const j = timeToTarget(curve, targetNv);
    return j < 0 ? Infinity : seconds[j];
  };
  return {
    noiseDb: overReplicates(count, (chosen) =>
      decibels(rmsOf(ofPlain[last], chosen) / rmsOf(ofStrategy[last], chosen)),
    ),
    timeRatio: overReplicates(count, (chosen) => arrival(ofPlain, chosen) / arrival(ofStrategy, chosen)),
    hollow: isHollow(
      meanOf(
        strategy.gains,
        Array.from({ length: count }, (_, r) => r),
      ),
    ),
  };
}
