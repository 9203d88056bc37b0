import type { AveragingContext } from '../../src/core/averaging/strategy.ts';
import { residualNoiseUv } from '../../src/core/quality/residualNoise.ts';
import type { Lane } from '../../src/core/session/lanes.ts';
import type { runningTruth } from '../../src/core/session/runningTruth.ts';

/** What a run says about its signals, so that two programs can be shown to do the same work. µV, first channel. */
export interface Findings {
  /** Median over sweeps of the noise in the analysis window, rms: the quiet patient. */
  quietNoiseUv: number;
  /** Share of the sweeps with more than twice that: the bursts. */
  loudShare: number;
  /** The averaged noise-free response, rms over the analysis window. */
  responseUv: number;
  /** True residual noise of each average, by strategy id. */
  residualNoiseUv: Record<string, number>;
}

/** Gathers the findings of one run. */
export function findings(context: AveragingContext, sweepCount: number) {
  const { samplesPerSweep, analysisFrom: from, analysisTo: to } = context;
  const sweepNoiseUv = new Float64Array(sweepCount);
  let count = 0;
  return {
    add(recordedUv: Float64Array, truthUv: Float64Array): void {
      sweepNoiseUv[count++] = residualNoiseUv(recordedUv, truthUv, from, to);
    },
    read(lanes: Lane[], truth: ReturnType<typeof runningTruth>): Findings {
      const truthUv = new Float64Array(samplesPerSweep);
      const estimateUv = new Float64Array(samplesPerSweep);
      truth.read(truthUv);
      const sorted = sweepNoiseUv.slice().sort();
      const quietNoiseUv = (sorted[(count - 1) >> 1] + sorted[count >> 1]) / 2;
      const residual: Record<string, number> = {};
      for (const { strategy, averager } of lanes) {
        averager.read(estimateUv);
        residual[strategy.id] = residualNoiseUv(estimateUv, truthUv, from, to);
      }
      return {
        quietNoiseUv,
        loudShare: sorted.filter((noiseUv) => noiseUv > 2 * quietNoiseUv).length / count,
        responseUv: residualNoiseUv(truthUv, new Float64Array(samplesPerSweep), from, to),
        residualNoiseUv: residual,
      };
    },
  };
}
