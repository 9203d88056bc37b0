import { type Static, Type } from '@sinclair/typebox';
import { quantity, wholeNumber } from '../scenario/quantity.ts';
import { hindsightAverager } from './hindsight.ts';
import { medianOf } from './orderStatistic.ts';
import type { AveragingStrategy } from './strategy.ts';
import { FLAGGED_SENTENCE } from './verdictTeller.ts';

export const huberAverageParameters = Type.Object(
  {
    bend: quantity('σ', 1.345, 0.1, 100, 'values farther than so many σ from the middle count less'),
    iterations: wholeNumber('', 15, 1, 100, 'most rounds of reweighting'),
  },
  { description: 'Huber estimate at each sample', additionalProperties: false },
);

const NORMAL_MAD = 1.482602218505602; // σ of a normal distribution over its median absolute deviation
const SETTLED = 1e-7; // of σ, our choice: a further round would move the estimate by less

/**
 * Huber's estimate over the sweeps, sample by sample: near the middle a mean, far from it a median.
 *
 *     w = min(1, k·σ/|x − estimate|), σ = 1.4826·MAD(t); repeat estimate = Σ w·x / Σ w, from the median on
 *     own noise = √(Σ ψ²)/Σ ψ',  ψ = r within ±kσ and ±kσ outside                          [P. J. Huber, 1964]
 *
 * k = 1.345 keeps 95 % of the efficiency of the mean in normal noise. It looks at each sample by itself, so it does not
 * gain from whole sweeps that are noisy as weighting does.
 */
export const huberAverage: AveragingStrategy<Static<typeof huberAverageParameters>> = {
  id: 'huber-average',
  scenarioKey: 'huberAverage',
  label: 'Huber estimate',
  summary: 'At each sample values far from the middle count less, the farther the less.',
  parameters: huberAverageParameters,
  timing: 'hindsight',
  approximateShares: true,
  orderFree: true,
  create(context, { bend, iterations }, listener) {
    if (!(bend > 0)) throw new RangeError(`huberAverage: bend must be > 0, got ${bend}`);
    const { samplesPerSweep, analysisFrom, analysisTo } = context;
    return hindsightAverager(context, listener, (sweepsUv) => {
      const column = new Float64Array(sweepsUv.length);
      const scratch = new Float64Array(sweepsUv.length);
      const limits = new Float64Array(samplesPerSweep); // k·σ
      const estimateUv = new Float64Array(samplesPerSweep);

      /** Estimate at sample i; leaves the values in `column` and k·σ in `limits[i]`. */
      function estimate(members: readonly Float64Array[], i: number): number {
        const count = members.length;
        for (let k = 0; k < count; k++) column[k] = members[k][i];
        scratch.set(column.subarray(0, count));
        let middle = medianOf(scratch, count);
        for (let k = 0; k < count; k++) scratch[k] = Math.abs(column[k] - middle);
        const sigma = NORMAL_MAD * medianOf(scratch, count);
        const limit = bend * sigma;
        limits[i] = limit;
        if (!(limit > 0)) return middle; // most values are equal: that is the estimate
        for (let round = 0; round < iterations; round++) {
          let sum = 0;
          let weights = 0;
          for (let k = 0; k < count; k++) {
            const distance = Math.abs(column[k] - middle);
            const weight = distance > limit ? limit / distance : 1;
            sum += weight * column[k];
            weights += weight;
          }
          const moved = sum / weights - middle;
          middle += moved;
          if (Math.abs(moved) < SETTLED * sigma) break;
        }
        return middle;
      }

      let noiseUv2 = 0;
      for (let i = 0; i < samplesPerSweep; i++) {
        estimateUv[i] = estimate(sweepsUv, i);
        if (i < analysisFrom || i >= analysisTo) continue;
        let squares = 0;
        let inside = 0;
        for (let k = 0; k < sweepsUv.length; k++) {
          const distance = Math.abs(column[k] - estimateUv[i]);
          if (distance <= limits[i]) inside++;
          const bent = Math.min(distance, limits[i]);
          squares += bent * bent;
        }
        noiseUv2 += inside > 0 ? squares / inside / inside : 0;
      }
      const count = sweepsUv.length;
      const shares = new Float64Array(count).fill(NaN); // mean weight of each sweep, when asked

      function share(k: number): number {
        if (!Number.isNaN(shares[k])) return shares[k];
        let sum = 0;
        for (let i = 0; i < samplesPerSweep; i++) {
          const distance = Math.abs(sweepsUv[k][i] - estimateUv[i]);
          sum += distance > limits[i] ? limits[i] / distance : 1;
        }
        shares[k] = sum / samplesPerSweep;
        return shares[k];
      }

      return {
        average(chosen, outUv) {
          const members = sweepsUv.filter((_, k) => chosen(k));
          if (members.length === count) outUv.set(estimateUv);
          else {
            const kept = limits.slice();
            for (let i = 0; i < samplesPerSweep; i++) outUv[i] = members.length > 0 ? estimate(members, i) : NaN;
            limits.set(kept);
          }
        },
        ownNoiseUv: count > 1 ? Math.sqrt(noiseUv2 / (analysisTo - analysisFrom)) : NaN,
        usedCount: count,
        get effectiveCount() {
          let sum = 0;
          let squares = 0;
          for (let k = 0; k < count; k++) {
            sum += share(k);
            squares += share(k) * share(k);
          }
          return squares > 0 ? (sum * sum) / squares : 0;
        },
        weight: share,
        reason: (k) => (share(k) < 0.5 ? 'down-weighted' : 'taken'),
        measureUv: () => NaN,
        limitUv: NaN,
      };
    });
  },
  explain: ({ reason, weight }) =>
    reason === 'flagged'
      ? FLAGGED_SENTENCE
      : `${reason === 'taken' ? 'Counted' : 'Marked down'}: ${Math.round(100 * weight)} % of a full share, on average over its samples.`,
};
