import { type Static, Type } from '@sinclair/typebox';
import { wholeNumber } from '../scenario/quantity.ts';
import { hindsightAverager } from './hindsight.ts';
import { medianOf } from './orderStatistic.ts';
import type { AveragingStrategy } from './strategy.ts';
import { FLAGGED_SENTENCE } from './verdictTeller.ts';

export const medianAverageParameters = Type.Object(
  {
    groupCount: wholeNumber(
      'groups',
      0,
      0,
      10000,
      'median of so many means of neighbouring sweeps; 0 = of the sweeps themselves',
    ),
  },
  { description: 'median at each sample', additionalProperties: false },
);

const NORMAL_MAD = 1.482602218505602; // σ of a normal distribution over its median absolute deviation
const NORMAL_MEDIAN = 1.2533141373155; // √(π/2): scatter of a median over that of a mean, normal distribution

/**
 * The median over the sweeps, sample by sample.
 *
 *     estimate(t) = median over k of x[k](t),   own noise = 1.2533 · 1.4826 · MAD(t)/√N, root mean square over t
 *
 * Half of the sweeps may be anything. In normal noise it needs π/2 = 1.57 times the sweeps of the mean. Skewed artefacts
 * bias it, flat sweeps drag it towards their level, and it is not linear: the median of a sum is not the sum of the
 * medians, so waves do not add and the trace is ragged. `groupCount` takes the median of means of neighbouring sweeps.
 */
export const medianAverage: AveragingStrategy<Static<typeof medianAverageParameters>> = {
  id: 'median-average',
  scenarioKey: 'medianAverage',
  label: 'Median',
  summary: 'At each sample the middle one of all sweeps.',
  parameters: medianAverageParameters,
  timing: 'hindsight',
  approximateShares: true,
  create(context, { groupCount }, listener) {
    const { samplesPerSweep, analysisFrom, analysisTo } = context;
    return hindsightAverager(context, listener, (sweepsUv) => {
      /** Median at sample i of the chosen sweeps, in groups; leaves the values in `column`. Returns how many there are. */
      function fillColumn(members: readonly Float64Array[], i: number, column: Float64Array): number {
        const groups = groupCount > 0 ? Math.min(groupCount, members.length) : members.length;
        if (groups === members.length) {
          for (let k = 0; k < members.length; k++) column[k] = members[k][i];
          return groups;
        }
        for (let g = 0; g < groups; g++) {
          const from = Math.floor((g * members.length) / groups);
          const to = Math.floor(((g + 1) * members.length) / groups);
          let sum = 0;
          for (let k = from; k < to; k++) sum += members[k][i];
          column[g] = sum / (to - from);
        }
        return groups;
      }

      const column = new Float64Array(sweepsUv.length);
      let squares = 0;
      for (let i = analysisFrom; i < analysisTo; i++) {
        const count = fillColumn(sweepsUv, i, column);
        const middle = medianOf(column, count);
        for (let k = 0; k < count; k++) column[k] = Math.abs(column[k] - middle);
        const deviation = (NORMAL_MEDIAN * NORMAL_MAD * medianOf(column, count)) / Math.sqrt(count);
        squares += deviation * deviation;
      }
      return {
        average(chosen, outUv) {
          const members = sweepsUv.filter((_, k) => chosen(k));
          for (let i = 0; i < samplesPerSweep; i++) outUv[i] = medianOf(column, fillColumn(members, i, column));
        },
        ownNoiseUv: sweepsUv.length > 1 ? Math.sqrt(squares / (analysisTo - analysisFrom)) : NaN,
        usedCount: sweepsUv.length,
        effectiveCount: sweepsUv.length / (NORMAL_MEDIAN * NORMAL_MEDIAN),
        weight: () => 1,
        reason: () => 'taken',
        measureUv: () => NaN,
        limitUv: NaN,
      };
    });
  },
  explain: ({ reason }) =>
    reason === 'flagged'
      ? FLAGGED_SENTENCE
      : 'One voice among all: at each sample only whether it lies above or below the middle counts, not by how much.',
};
