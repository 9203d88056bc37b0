/**
 * Watches how sweeps scatter about their weighted average, in bounded memory.
 *
 *     noise²(t) = Σ w²·(x(t) − ŝ(t))² / (Σw)² · n/(n − 1),   n = (Σw)²/Σw²
 *
 * With equal weights this is Σ(x − ŝ)²/(N(N − 1)), the squared standard error of a mean. It believes that sweeps are
 * independent: mains that lock with the stimulus and slow drift are invisible to it. `blockScatter` shows where they are.
 * The weights count as fixed: a weight that was taken from the sweep itself makes the claim too low.
 */
export interface SweepScatter {
  /** Takes in a sweep, µV, with its weight ≥ 0; a weight of 0 changes nothing. */
  add(sweepUv: Float64Array, weight?: number): void;
  /** Writes the weighted average, µV; NaN before the first sweep. */
  read(outUv: Float64Array): void;
  /** Writes noise² of the average at each sample, µV²; NaN before the second sweep. */
  readNoiseUv2(outUv2: Float64Array): void;
  /** Claims the residual noise of the average, µV rms over samples [from, to); NaN before the second sweep. */
  noiseUv(from: number, to: number): number;
  /** n = (Σw)²/Σw²; 0 before the first sweep. */
  effectiveCount(): number;
}

/** Makes an empty watcher. @throws {RangeError} unless samplesPerSweep > 0 */
export function sweepScatter(samplesPerSweep: number): SweepScatter {
  if (!(samplesPerSweep > 0)) throw new RangeError(`sweepScatter: samplesPerSweep must be > 0, got ${samplesPerSweep}`);
  const weighted = new Float64Array(samplesPerSweep); // Σ w·x
  const twice = new Float64Array(samplesPerSweep); // Σ w²·x
  const squares = new Float64Array(samplesPerSweep); // Σ w²·x²
  const scratch = new Float64Array(samplesPerSweep);
  let weightSum = 0;
  let weightSquares = 0;

  const effectiveCount = () => (weightSquares > 0 ? (weightSum * weightSum) / weightSquares : 0);

  function readNoiseUv2(outUv2: Float64Array): void {
    const count = effectiveCount();
    // Two sweeps of which one weighs next to nothing are no more than one.
    const factor = count > 1 + 1e-9 ? count / (count - 1) / (weightSum * weightSum) : NaN;
    for (let i = 0; i < samplesPerSweep; i++) {
      const mean = weighted[i] / weightSum;
      const scatter = squares[i] - 2 * mean * twice[i] + mean * mean * weightSquares;
      // Equal sweeps leave a rest of rounding, of either sign, instead of 0.
      outUv2[i] = (scatter <= 1e-13 * squares[i] ? 0 : scatter) * factor;
    }
  }

  return {
    add(sweepUv, weight = 1) {
      if (!(weight > 0)) return;
      const square = weight * weight;
      for (let i = 0; i < samplesPerSweep; i++) {
        const value = sweepUv[i];
        weighted[i] += weight * value;
        twice[i] += square * value;
        squares[i] += square * value * value;
      }
      weightSum += weight;
      weightSquares += square;
    },
    read(outUv) {
      for (let i = 0; i < samplesPerSweep; i++) outUv[i] = weighted[i] / weightSum;
    },
    readNoiseUv2,
    noiseUv(from, to) {
      if (!(from >= 0 && to > from && to <= samplesPerSweep)) {
        throw new RangeError(`noiseUv: window must lie within 0 to ${samplesPerSweep}, got ${from} to ${to}`);
      }
      readNoiseUv2(scratch);
      let sum = 0;
      for (let i = from; i < to; i++) sum += scratch[i];
      return Math.sqrt(sum / (to - from));
    },
    effectiveCount,
  };
}
