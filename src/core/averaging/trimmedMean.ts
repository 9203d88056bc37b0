import { type Static, Type } from '@sinclair/typebox';
import { quantity } from '../scenario/quantity.ts';
import { hindsightAverager } from './hindsight.ts';
import { selectRank } from './orderStatistic.ts';
import type { AveragingStrategy } from './strategy.ts';
import { FLAGGED_SENTENCE } from './verdictTeller.ts';

export const trimmedMeanParameters = Type.Object(
  {
    share: quantity(
      '',
      0.1,
      0,
      0.49,
      'at each sample this share of the sweeps is dropped at the top, and at the bottom',
    ),
  },
  { description: 'trimmed mean at each sample', additionalProperties: false },
);

/**
 * The trimmed mean over the sweeps, sample by sample: the highest and the lowest values are dropped.
 *
 *     estimate(t) = mean of the sorted x(t) without the g = ⌊αN⌋ at either end
 *     own noise² = winsorised variance / ((1 − 2α)²·N), mean over t       [J. W. Tukey and D. H. McLaughlin, 1963]
 *
 * Breaks down as soon as more than α of the sweeps lie on one side.
 */
export const trimmedMean: AveragingStrategy<Static<typeof trimmedMeanParameters>> = {
  id: 'trimmed-mean',
  scenarioKey: 'trimmedMean',
  label: 'Trimmed mean',
  summary: 'At each sample the highest and the lowest values are dropped, the rest averaged.',
  parameters: trimmedMeanParameters,
  timing: 'hindsight',
  approximateShares: true,
  orderFree: true,
  create(context, { share }, listener) {
    if (!(share >= 0 && share < 0.5)) throw new RangeError(`trimmedMean: share must be >= 0 and < 0.5, got ${share}`);
    const { samplesPerSweep, analysisFrom, analysisTo } = context;
    return hindsightAverager(context, listener, (sweepsUv) => {
      const column = new Float64Array(sweepsUv.length);
      const lows = new Float64Array(samplesPerSweep);
      const highs = new Float64Array(samplesPerSweep);
      const edges = { low: NaN, high: NaN };

      /** Trimmed mean of sample i; leaves the column trimmed at both ends and its edges in `edges`. */
      function trimmed(members: readonly Float64Array[], i: number): number {
        const count = members.length;
        const dropped = Math.floor(share * count);
        for (let k = 0; k < count; k++) column[k] = members[k][i];
        edges.low = dropped > 0 ? selectRank(column, dropped, 0, count) : -Infinity;
        edges.high = dropped > 0 ? selectRank(column, count - dropped - 1, dropped, count) : Infinity;
        let sum = 0;
        for (let k = dropped; k < count - dropped; k++) sum += column[k];
        return sum / (count - 2 * dropped);
      }

      const count = sweepsUv.length;
      const dropped = Math.floor(share * count);
      let noiseUv2 = 0;
      for (let i = 0; i < samplesPerSweep; i++) {
        trimmed(sweepsUv, i);
        lows[i] = edges.low;
        highs[i] = edges.high;
        if (i >= analysisFrom && i < analysisTo) noiseUv2 += winsorisedVariance(column, count, dropped, edges);
      }
      const left = 1 - (2 * dropped) / count;
      return {
        average(chosen, outUv) {
          const members = sweepsUv.filter((_, k) => chosen(k));
          for (let i = 0; i < samplesPerSweep; i++) outUv[i] = members.length > 0 ? trimmed(members, i) : NaN;
        },
        ownNoiseUv: count > 1 ? Math.sqrt(noiseUv2 / (analysisTo - analysisFrom) / count) / left : NaN,
        usedCount: count,
        effectiveCount: count - 2 * dropped,
        weight(k) {
          let kept = 0;
          for (let i = 0; i < samplesPerSweep; i++) if (sweepsUv[k][i] >= lows[i] && sweepsUv[k][i] <= highs[i]) kept++;
          return kept / samplesPerSweep;
        },
        reason: () => 'taken',
        measureUv: () => NaN,
        limitUv: NaN,
      };
    });
  },
  explain: ({ reason, weight }) =>
    reason === 'flagged'
      ? FLAGGED_SENTENCE
      : `Counted at ${Math.round(100 * weight)} % of its samples; at the others it was among the most extreme.`,
};

/** Variance (n − 1) of a column in which the dropped values are moved to the edges. The middle stands in place. */
function winsorisedVariance(
  column: Float64Array,
  count: number,
  dropped: number,
  edges: { low: number; high: number },
) {
  if (count < 2) return NaN;
  let sum = dropped > 0 ? dropped * (edges.low + edges.high) : 0;
  for (let k = dropped; k < count - dropped; k++) sum += column[k];
  const mean = sum / count;
  let squares = 0;
  if (dropped > 0) {
    squares = dropped * ((edges.low - mean) * (edges.low - mean) + (edges.high - mean) * (edges.high - mean));
  }
  for (let k = dropped; k < count - dropped; k++) squares += (column[k] - mean) * (column[k] - mean);
  return squares / (count - 1);
}
