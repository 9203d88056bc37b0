import { type Static, Type } from '@sinclair/typebox';
import { type AveragingStrategy, belongsToA, meanSquareUv2 } from './strategy.ts';
import { weightedPair } from './weightedPair.ts';

export const plainMeanParameters = Type.Object(
  {},
  { description: 'plain mean: nothing to set', additionalProperties: false },
);

/**
 * The plain mean: every sweep counts the same.
 *
 *     estimate = Σ x[k] / n,   own noise = √( mean over t of Var_k x[k](t) / n )
 *
 * Unbiased whatever the noise; one large burst can dominate it. Its claim assumes sweeps that are independent of each
 * other: mains that lock with the stimulus are invisible to it.
 */
export const plainMean: AveragingStrategy<Static<typeof plainMeanParameters>> = {
  id: 'plain-mean',
  scenarioKey: 'plainMean',
  label: 'Plain mean',
  summary: 'Every sweep counts the same.',
  parameters: plainMeanParameters,
  timing: 'online',
  signFree: true,
  create(context, _parameters, listener) {
    const pair = weightedPair(context.samplesPerSweep);
    const { analysisFrom, analysisTo, respectFlags } = context;
    const estimateUv = new Float64Array(context.samplesPerSweep);
    const verdict = {
      index: 0,
      weight: 0,
      fade: 1,
      reason: 'taken' as 'taken' | 'flagged',
      measureUv: 0,
      limitUv: NaN,
    };
    let powerSumUv2 = 0;
    return {
      add(sweepUv, meta) {
        const flagged = respectFlags && meta.overRange;
        const powerUv2 = meanSquareUv2(sweepUv, analysisFrom, analysisTo);
        verdict.index = meta.index;
        verdict.weight = flagged ? 0 : 1;
        verdict.reason = flagged ? 'flagged' : 'taken';
        verdict.measureUv = Math.sqrt(powerUv2);
        if (!flagged) {
          pair.add(sweepUv, 1, belongsToA(meta.index));
          powerSumUv2 += powerUv2;
        }
        listener(verdict);
      },
      read: pair.read,
      readPair: pair.readPair,
      ownNoiseUv() {
        const n = pair.usedCount();
        if (n < 2) return NaN;
        pair.read(estimateUv);
        return ownNoiseOfMeanUv(powerSumUv2, meanSquareUv2(estimateUv, analysisFrom, analysisTo), n);
      },
      usedCount: pair.usedCount,
      effectiveCount: pair.effectiveCount,
    };
  },
  explain: ({ reason, measureUv }) =>
    reason === 'flagged'
      ? 'Left out: the converter was over-range in or just before this sweep.'
      : `Counted like every other sweep; its own size, ${measureUv.toFixed(1)} µV rms, does not matter here.`,
};

/** √( (Σ_k mean_t x² − n·mean_t estimate²) / (n − 1) / n ): standard error of a mean, from running sums. */
export function ownNoiseOfMeanUv(powerSumUv2: number, estimatePowerUv2: number, sweepCount: number): number {
  const varianceUv2 = (powerSumUv2 - sweepCount * estimatePowerUv2) / (sweepCount - 1);
  return Math.sqrt(Math.max(0, varianceUv2) / sweepCount);
}
