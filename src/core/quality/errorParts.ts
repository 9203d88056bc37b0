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
  if (!(errorsUv.length >= 2)) throw new RangeError(`errorParts: needs at least 2 replicates, got ${errorsUv.length}`);
  const gatherer = gatherErrors(errorsUv[0].length);
  for (const errorUv of errorsUv) gatherer.add(errorUv);
  return gatherer.parts();
}

/** Errors of replicates as they come: `errorParts` in the memory of one sweep. */
export interface ErrorGatherer {
  /** Takes in the error of one replicate, window only, µV. @throws {RangeError} for another length */
  add(errorUv: Float64Array): void;
  /** The parts so far; NaN for all before the second replicate. */
  parts(): ErrorParts;
}

/** Makes an empty gatherer of errors. @throws {RangeError} unless there is a point */
export function gatherErrors(pointCount: number): ErrorGatherer {
  if (!(pointCount >= 1)) throw new RangeError(`gatherErrors: pointCount must be at least 1, got ${pointCount}`);
  const meansUv = new Float64Array(pointCount);
  let scatterUv2 = 0; // Σ over points and replicates of (e − mean)²
  let squaresUv2 = 0;
  let count = 0;
  return {
    add(errorUv) {
      if (errorUv.length !== pointCount) {
        throw new RangeError(`gatherErrors: every replicate must have ${pointCount} points, got ${errorUv.length}`);
      }
      count++;
      for (let i = 0; i < pointCount; i++) {
        const away = errorUv[i] - meansUv[i]; // running mean and scatter: no difference of large sums
        meansUv[i] += away / count;
        scatterUv2 += away * (errorUv[i] - meansUv[i]);
        squaresUv2 += errorUv[i] * errorUv[i];
      }
    },
    parts() {
      if (count < 2) return { totalUv: NaN, noiseUv: NaN, biasUv: NaN };
      let common = 0;
      for (let i = 0; i < pointCount; i++) common += meansUv[i] * meansUv[i];
      const noiseUv2 = scatterUv2 / pointCount / (count - 1);
      const biasUv2 = common / pointCount - noiseUv2 / count;
      return {
        totalUv: Math.sqrt(squaresUv2 / pointCount / count),
        noiseUv: Math.sqrt(noiseUv2),
        biasUv: Math.sqrt(Math.max(0, biasUv2)),
      };
    },
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
