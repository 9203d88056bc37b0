import type { AveragingStrategy } from '../averaging/strategy.ts';
import type { Efficiency } from '../quality/efficiency.ts';
import type { ErrorGatherer } from '../quality/errorParts.ts';
import type { Regret } from '../quality/regret.ts';
import { type Expected, meanOf, overReplicates, rmsOf } from '../quality/replicates.ts';
import { timeToTarget } from '../quality/timeToTarget.ts';
import type { Verdict } from '../quality/visualRule.ts';
import type { LaneReading, LaneSetting } from './lanes.ts';

/** One competitor's result. Figures are over all replicates unless they say otherwise. */
export interface LaneResult extends LaneSetting {
  /** When the strategy decides; hindsight was run again from the first sweep at every checkpoint. */
  timing: AveragingStrategy['timing'];
  /** Stimulation time from which the expected residual noise stays at or under the target, s; null for never. */
  secondsToTarget: Expected | null;
  /** Sweeps offered by then. */
  sweepsToTarget: number | null;
  /** Root mean square over replicates of the residual noise at the end, nV. */
  expectedResidualNoiseNv: Expected;
  /** Root mean square over replicates of the strategy's own claim at the end, nV. */
  ownNoiseNv: number;
  amplitudeGain: Expected;
  splitCorrelation: number;
  /** Mean of Fmp at the end. */
  fmp: number;
  /** The seed's own run. */
  residualNoiseNv: number;
  sweepsOffered: number;
  sweepsUsed: number;
  effectiveSweeps: number;
  /** Own claim over true noise at the end: 1 is honest, below 1 rosy. */
  honesty: number;
  /** The error at the end taken apart: what differs from replicate to replicate, and what all have in common; null for one. */
  parts: { noiseNv: number; biasNv: number } | null;
  /** Against the oracle, where it ran: seconds lost to the target, and noise at the end in units of the oracle's. */
  regret: Regret | null;
  /** Against the plain mean, where that races too: noise in dB and time to the target, hollow if the gain is outside 0.95–1.05. */
  efficiency: Efficiency | null;
  /** How many replicates the 3:1 rule calls present, absent or neither at the end. */
  verdicts: Record<Verdict, number>;
  /** Each replicate at its end: residual noise, own claim, gain, the second from which on it stayed at the target (null for never), 3:1. */
  runs: { noiseNv: number; ownNoiseNv: number; gain: number; arrivalS: number | null; verdict: Verdict }[];
  /** Expected residual noise, own claim and mean of Fmp at each checkpoint. */
  curve: { seconds: number; noiseNv: number; ownNoiseNv: number; fmp: number }[];
}

/** A reading with the verdict of the 3:1 rule, which is given at the end only. */
export interface RaceReading extends LaneReading {
  verdict: Verdict | null;
}

/**
 * Works out one competitor's figures over its replicates.
 *
 * @param runs - readings by replicate and checkpoint   @param errors - the errors at the end of each replicate
 */
export function summarise(
  setting: LaneSetting,
  timing: AveragingStrategy['timing'],
  runs: RaceReading[][],
  errors: ErrorGatherer,
  checkpoints: number[],
  secondsAt: (sweeps: number) => number,
  targetNv: number,
): LaneResult {
  const last = checkpoints.length - 1;
  const all = Uint16Array.from(runs, (_, r) => r);
  const noiseNv = checkpoints.map((_, j) => runs.map((run) => 1000 * run[j].residualNoiseUv));
  const ownNv = checkpoints.map((_, j) => runs.map((run) => 1000 * run[j].ownNoiseUv));
  const arrival = (chosen: ArrayLike<number>) =>
    timeToTarget(
      noiseNv.map((values) => rmsOf(values, chosen)),
      targetNv,
    );
  const arrivedAt = arrival(all);
  const final = runs.map((run) => run[last]);
  const gains = final.map((reading) => reading.amplitudeGain);
  const correlations = final.map((reading) => reading.splitCorrelation);
  const { noiseUv, biasUv } = errors.parts();
  return {
    ...setting,
    timing,
    secondsToTarget:
      arrivedAt < 0
        ? null
        : overReplicates(runs.length, (chosen) => {
            const j = arrival(chosen);
            return j < 0 ? Infinity : secondsAt(checkpoints[j]);
          }),
    sweepsToTarget: arrivedAt < 0 ? null : checkpoints[arrivedAt],
    expectedResidualNoiseNv: overReplicates(runs.length, (chosen) => rmsOf(noiseNv[last], chosen)),
    ownNoiseNv: rmsOf(ownNv[last], all),
    amplitudeGain: overReplicates(runs.length, (chosen) => meanOf(gains, chosen)),
    splitCorrelation: meanOf(correlations, all),
    fmp: meanOf(
      final.map((reading) => reading.fmp),
      all,
    ),
    residualNoiseNv: noiseNv[last][0],
    sweepsOffered: checkpoints[last],
    sweepsUsed: final[0].usedCount,
    effectiveSweeps: final[0].effectiveCount,
    honesty: rmsOf(ownNv[last], all) / rmsOf(noiseNv[last], all),
    parts: runs.length < 2 ? null : { noiseNv: 1000 * noiseUv, biasNv: 1000 * biasUv },
    regret: null,
    efficiency: null,
    verdicts: {
      present: final.filter(({ verdict }) => verdict === 'present').length,
      absent: final.filter(({ verdict }) => verdict === 'absent').length,
      'cannot-tell': final.filter(({ verdict }) => verdict === 'cannot-tell').length,
    },
    runs: runs.map((_, r) => {
      const j = timeToTarget(
        noiseNv.map((values) => values[r]),
        targetNv,
      );
      return {
        noiseNv: noiseNv[last][r],
        ownNoiseNv: ownNv[last][r],
        gain: gains[r],
        arrivalS: j < 0 ? null : secondsAt(checkpoints[j]),
        verdict: final[r].verdict ?? 'cannot-tell',
      };
    }),
    curve: checkpoints.map((sweeps, j) => ({
      seconds: secondsAt(sweeps),
      noiseNv: rmsOf(noiseNv[j], all),
      ownNoiseNv: rmsOf(ownNv[j], all),
      fmp: meanOf(
        runs.map((run) => run[j].fmp),
        all,
      ),
    })),
  };
}
