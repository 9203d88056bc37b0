import { residualNoiseUv } from './residualNoise.ts';

/** The error of averages taken apart. All µV rms over the window. */
export interface ErrorParts {
  /** √(mean square error): the expected residual noise. */
  totalUv: number;
  /** What differs from replicate to replicate. */
  noiseUv: number;
  /** What all replicates have in common: the response changed, or interference that locks. */
  biasUv: number;
}

/**
 * Splits the error of replicate averages into noise and bias.
 *
 *     MSE = bias² + noise²,   noise² = mean over points of Var_r e[r],   bias² = mean of (mean_r e[r])² − noise²/R
 *
 * The last term is what R replicates leave of the noise in their mean; a bias² that comes out negative is shown as 0.
 *
 * @param errorsUv - error of each replicate against its truth, window only, µV
 * @throws {RangeError} for fewer than 2 replicates, or lengths that differ
 * @example errorParts([Float64Array.of(1), Float64Array.of(3)]).totalUv // √5
 */
export function errorParts(errorsUv: readonly Float64Array[]): ErrorParts {
  const count = errorsUv.length;
  if (!(count >= 2)) throw new RangeError(`errorParts: needs at least 2 replicates, got ${count}`);
  const points = errorsUv[0].length;
  if (!(points >= 1 && errorsUv.every((error) => error.length === points))) {
    throw new RangeError(`errorParts: every replicate must have ${points} points`);
  }
  let noise = 0;
  let common = 0;
  let total = 0;
  for (let i = 0; i < points; i++) {
    let mean = 0;
    for (const error of errorsUv) mean += error[i] / count;
    for (const error of errorsUv) {
      noise += (error[i] - mean) * (error[i] - mean);
      total += error[i] * error[i];
    }
    common += mean * mean;
  }
  const noiseUv2 = noise / points / (count - 1);
  return {
    totalUv: Math.sqrt(total / points / count),
    noiseUv: Math.sqrt(noiseUv2),
    biasUv: Math.sqrt(Math.max(0, common / points - noiseUv2 / count)),
  };
}

/**
 * Splits the error of one linear average exactly, where its final weights have been applied to the response alone.
 *
 *     estimate − truth = (estimate − Σw·s) + (Σw·s − truth) = noise + bias
 *
 * @param weightedResponseUv - Σ w·s/Σ w, the noise-free responses under the final weights, µV   @param from - window
 * @returns total² = noise² + bias² + twice their mean product: the last is chance, and not 0 in one run
 * @throws {RangeError} if the window is empty or lengths differ
 */
export function linearErrorParts(
  estimateUv: Float64Array,
  weightedResponseUv: Float64Array,
  truthUv: Float64Array,
  from: number,
  to: number,
): ErrorParts {
  return {
    totalUv: residualNoiseUv(estimateUv, truthUv, from, to),
    noiseUv: residualNoiseUv(estimateUv, weightedResponseUv, from, to),
    biasUv: residualNoiseUv(weightedResponseUv, truthUv, from, to),
  };
}
