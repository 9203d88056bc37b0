import { type Averager, type AveragingContext, belongsToA, type SweepMeta } from './strategy.ts';
import { weightedScatter } from './weightedScatter.ts';

/** An averager that is told what no strategy may know. Never a competitor: what others are measured against. */
export interface Oracle extends Omit<Averager, 'add'> {
  /** Takes in the next sweep and its true noise power, µV²: mean square of recorded less noise-free response. */
  add(sweepUv: Float64Array, meta: Readonly<SweepMeta>, noisePowerUv2: number): void;
}

const NEIGHBOURS = 2; // sweeps on each side, our choice: see below

/**
 * Makes the oracle: the mean with weights 1/v, v the true noise variance around each sweep.
 *
 *     v[k] = mean over k ± 2 of the true noise power;   average = Σ x[k]/v[k] ÷ Σ 1/v[k]
 *
 * No unbiased weighting of independent sweeps by their variance can be quieter. The power of the one sweep alone would
 * be no variance but its outcome, and weights by outcome are quieter than any variance allows, by 1 − 2/ν for ν
 * independent numbers; averaged over five sweeps that is some 2 %. Where the response grows with the noise (VEMP) 1/v
 * is not what is best for the response.
 */
export function oracle({ samplesPerSweep, analysisFrom, analysisTo, respectFlags }: AveragingContext): Oracle {
  const average = weightedScatter(samplesPerSweep, analysisFrom, analysisTo);
  const waiting: { index: number; sweepUv: Float64Array }[] = [];
  let powersUv2: number[] = []; // of the sweeps waiting and of so many neighbours before them
  let before = 0; // how many of the powers belong to sweeps decided

  return {
    add(sweepUv, meta, noisePowerUv2) {
      if (respectFlags && meta.overRange) return;
      waiting.push({ index: meta.index, sweepUv: sweepUv.slice() });
      powersUv2.push(noisePowerUv2);
      if (waiting.length <= NEIGHBOURS) return;
      const next = waiting.shift() as (typeof waiting)[0];
      const varianceUv2 = powersUv2.reduce((sum, power) => sum + power, 0) / powersUv2.length;
      average.add(next.sweepUv, varianceUv2 > 0 ? 1 / varianceUv2 : 0, belongsToA(next.index));
      before++;
      if (before > NEIGHBOURS) {
        powersUv2 = powersUv2.slice(1);
        before--;
      }
    },
    read: average.pair.read,
    readPair: average.pair.readPair,
    ownNoiseUv: average.ownNoiseUv,
    usedCount: average.pair.usedCount,
    effectiveCount: average.pair.effectiveCount,
  };
}
