import {
  type Averager,
  type AveragingContext,
  belongsToA,
  type VerdictListener,
  type WeightReason,
} from './strategy.ts';
import { verdictTeller } from './verdictTeller.ts';

/** What hindsight makes of a set of sweeps. */
export interface HindsightResult {
  /** Writes the average of the sweeps for which `chosen` is true; NaN if there is none. */
  average(chosen: (k: number) => boolean, outUv: Float64Array): void;
  ownNoiseUv: number;
  usedCount: number;
  effectiveCount: number;
  /** Share of sweep k, ≥ 0, its reason and what `explain` shows of it. */
  weight(k: number): number;
  reason(k: number): WeightReason;
  measureUv(k: number): number;
  limitUv: number;
}

/**
 * Makes an averager that keeps every sweep and works everything out anew when it is asked.
 *
 * The result depends on the sweeps so far and on nothing else, so that reading early, late or often changes nothing.
 *
 * @param solve - called with at least one sweep, none of them flagged
 */
export function hindsightAverager(
  { samplesPerSweep, respectFlags }: AveragingContext,
  listener: VerdictListener,
  solve: (sweepsUv: readonly Float64Array[]) => HindsightResult,
): Averager & { settle(): void } {
  const sweepsUv: Float64Array[] = [];
  const indices: number[] = [];
  const flagged: number[] = [];
  const tell = verdictTeller(listener);
  let known: HindsightResult | null = null;

  function result(): HindsightResult | null {
    if (!known && sweepsUv.length > 0) known = solve(sweepsUv);
    return known;
  }

  function read(outUv: Float64Array, chosen: (k: number) => boolean): void {
    const found = result();
    if (found) found.average(chosen, outUv);
    else outUv.fill(NaN, 0, samplesPerSweep);
  }

  return {
    add(sweepUv, meta) {
      if (respectFlags && meta.overRange) {
        flagged.push(meta.index);
        return;
      }
      sweepsUv.push(sweepUv.slice());
      indices.push(meta.index);
      known = null;
    },
    read: (outUv) => read(outUv, () => true),
    readPair(outAUv, outBUv) {
      read(outAUv, (k) => belongsToA(indices[k]));
      read(outBUv, (k) => !belongsToA(indices[k]));
    },
    ownNoiseUv: () => result()?.ownNoiseUv ?? NaN,
    usedCount: () => result()?.usedCount ?? 0,
    effectiveCount: () => result()?.effectiveCount ?? 0,
    settle() {
      const found = result();
      for (const [k, index] of indices.entries()) {
        if (found) tell(index, found.weight(k), found.reason(k), found.measureUv(k), found.limitUv);
      }
      for (const index of flagged) tell(index, 0, 'flagged', NaN, NaN);
    },
  };
}
