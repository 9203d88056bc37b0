import { type Static, Type } from '@sinclair/typebox';
import { wholeNumber } from '../scenario/quantity.ts';
import { type AveragingStrategy, belongsToA, meanSquareUv2 } from './strategy.ts';
import { FLAGGED_SENTENCE, verdictTeller } from './verdictTeller.ts';
import { weightedPair } from './weightedPair.ts';

export const forgettingAverageParameters = Type.Object(
  { memorySweeps: wholeNumber('sweeps', 1000, 2, 1000000, 'after so many sweeps a sweep has faded to 37 %') },
  { description: 'average that forgets', additionalProperties: false },
);

/**
 * An average that forgets: the plain rival of a tracker.
 *
 *     estimate += α·(x − estimate),   α = 1/min(n, memory);   own noise = σ/√(effective sweeps) → √(α/(2 − α))·σ
 *
 * Until the memory is full it is the plain mean. σ² is the variance about the average, with the same memory. A response
 * that moves is followed with a lag of `memory` sweeps; the noise stops falling at that of 2·memory sweeps.
 */
export const forgettingAverage: AveragingStrategy<Static<typeof forgettingAverageParameters>> = {
  id: 'forgetting-average',
  scenarioKey: 'forgettingAverage',
  label: 'Forgetting average',
  summary: 'Every sweep counts the same when it comes, then fades.',
  parameters: forgettingAverageParameters,
  timing: 'online',
  signFree: true,
  create(context, { memorySweeps }, listener) {
    if (!(memorySweeps >= 2)) throw new RangeError(`forgettingAverage: memorySweeps must be >= 2, got ${memorySweeps}`);
    const { samplesPerSweep, analysisFrom, analysisTo, respectFlags } = context;
    const pair = weightedPair(samplesPerSweep);
    const estimateUv = new Float64Array(samplesPerSweep);
    const rest = new Float64Array(samplesPerSweep);
    const tell = verdictTeller(listener);
    let varianceUv2 = 0;
    return {
      add(sweepUv, meta) {
        if (respectFlags && meta.overRange) return tell(meta.index, 0, 'flagged', NaN, NaN);
        const alpha = 1 / Math.min(pair.usedCount() + 1, memorySweeps);
        const forgets = pair.usedCount() >= memorySweeps;
        if (pair.usedCount() > 0) {
          for (let i = analysisFrom; i < analysisTo; i++) rest[i] = sweepUv[i] - estimateUv[i];
          // Only the part 1/(1 + share of the estimate's own doubt) of the square is the sweep's own noise.
          const doubt = 1 / pair.effectiveCount();
          const freshUv2 = meanSquareUv2(rest, analysisFrom, analysisTo) / (1 + doubt);
          varianceUv2 += (freshUv2 - varianceUv2) / Math.min(pair.usedCount(), memorySweeps);
        }
        const fade = forgets ? 1 - alpha : 1;
        if (fade > 0) pair.fade(fade);
        pair.add(sweepUv, 1, belongsToA(meta.index));
        pair.read(estimateUv);
        tell(meta.index, 1, 'taken', alpha, NaN, fade);
      },
      read: pair.read,
      readPair: pair.readPair,
      ownNoiseUv: () => (pair.usedCount() > 1 ? Math.sqrt(varianceUv2 / pair.effectiveCount()) : NaN),
      usedCount: pair.usedCount,
      effectiveCount: pair.effectiveCount,
    };
  },
  explain: ({ reason, measureUv: alpha }) =>
    reason === 'flagged'
      ? FLAGGED_SENTENCE
      : `Moved the average by ${Number((100 * alpha).toPrecision(2))} % of the way towards itself, like every sweep at its place.`,
};
