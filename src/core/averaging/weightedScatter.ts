import { meanSquareUv2 } from './strategy.ts';
import { type WeightedPair, weightedPair } from './weightedPair.ts';

/** A weighted mean that follows its own scatter. */
export interface WeightedScatter {
  pair: WeightedPair;
  /** Adds a sweep, and what it differs from the mean so far. */
  add(sweepUv: Float64Array, weight: number, toA: boolean): void;
  /** The mean so far, µV, kept up to date; all 0 before the first sweep. */
  meanUv: Float64Array;
  /** √(Σ w²·r²)/Σw, µV rms over the analysis window; NaN before the second sweep. */
  ownNoiseUv(): number;
}

/**
 * Makes an empty weighted mean whose claim of noise comes from how far each sweep lay from the mean before it.
 *
 *     own noise = √( n/(n − 1) · Σ w²·r² ) / Σ w,   r² = mean square(x − mean before) · W/(W + w)
 *
 * W is the sum of the weights before. For equal weights Σ r² is exactly the sum of squares about the final mean
 * (B. P. Welford, Technometrics 4(3), 1962); the factor takes the doubt of the early means out. Assumes sweeps that are
 * independent of each other.
 */
export function weightedScatter(samplesPerSweep: number, from: number, to: number): WeightedScatter {
  const pair = weightedPair(samplesPerSweep);
  const meanUv = new Float64Array(samplesPerSweep);
  const rest = new Float64Array(samplesPerSweep);
  let scatterUv2 = 0;
  return {
    pair,
    meanUv,
    add(sweepUv, weight, toA) {
      if (!(weight > 0)) return;
      const before = pair.weightSum();
      if (before > 0) {
        for (let i = from; i < to; i++) rest[i] = sweepUv[i] - meanUv[i];
        scatterUv2 += (weight * weight * meanSquareUv2(rest, from, to) * before) / (before + weight);
      }
      pair.add(sweepUv, weight, toA);
      pair.read(meanUv);
    },
    ownNoiseUv() {
      const count = pair.usedCount();
      if (count < 2) return NaN;
      return Math.sqrt((scatterUv2 * count) / (count - 1)) / pair.weightSum();
    },
  };
}
