import { addScaled } from './addScaled.ts';

/**
 * The two buffers of a weighted average, A and B, and their sum.
 *
 *     A = Σ_{k∈A} w_k·x_k / Σ_{k∈A} w_k,   average = (Σ_A w·x + Σ_B w·x) / (Σ_A w + Σ_B w)
 *
 * Keeping only the two halves costs no more than keeping one sum: the whole is read as their sum.
 */
export interface WeightedPair {
  add(sweepUv: Float64Array, weight: number, toA: boolean): void;
  /** Multiplies all weights so far, 0 < factor ≤ 1: the past fades. */
  fade(factor: number): void;
  read(outUv: Float64Array): void;
  readPair(outAUv: Float64Array, outBUv: Float64Array): void;
  weightSum(): number;
  usedCount(): number;
  effectiveCount(): number;
}

/** Makes an empty pair for sweeps of the given length. */
export function weightedPair(samplesPerSweep: number): WeightedPair {
  if (!(samplesPerSweep > 0)) throw new RangeError(`weightedPair: samplesPerSweep must be > 0, got ${samplesPerSweep}`);
  const sumA = new Float64Array(samplesPerSweep);
  const sumB = new Float64Array(samplesPerSweep);
  let weightA = 0;
  let weightB = 0;
  let squares = 0;
  let used = 0;
  // Fading is done on the new weights instead of on the old sums: everything held is `scale` times too large.
  let scale = 1;

  function rescale(): void {
    for (let i = 0; i < samplesPerSweep; i++) {
      sumA[i] *= scale;
      sumB[i] *= scale;
    }
    weightA *= scale;
    weightB *= scale;
    squares *= scale * scale;
    scale = 1;
  }

  return {
    add(sweepUv, weight, toA) {
      if (!(weight > 0)) return;
      const scaled = weight / scale;
      addScaled(toA ? sumA : sumB, sweepUv, scaled);
      if (toA) weightA += scaled;
      else weightB += scaled;
      squares += scaled * scaled;
      used++;
    },
    fade(factor) {
      scale *= factor;
      if (scale < 1e-60) rescale();
    },
    read(outUv) {
      const share = 1 / (weightA + weightB); // ∞ when empty, and 0 · ∞ is the promised NaN
      writeScaledSum(outUv, sumA, sumB, share);
    },
    readPair(outAUv, outBUv) {
      const shareA = 1 / weightA;
      const shareB = 1 / weightB;
      for (let i = 0; i < samplesPerSweep; i++) {
        outAUv[i] = sumA[i] * shareA;
        outBUv[i] = sumB[i] * shareB;
      }
    },
    weightSum: () => (weightA + weightB) * scale,
    usedCount: () => used,
    effectiveCount: () => (squares > 0 ? ((weightA + weightB) * (weightA + weightB)) / squares : 0),
  };
}

/** A loop of its own, with everything in parameters: 120 ns for 300 samples, 240 inside the closure. */
function writeScaledSum(outUv: Float64Array, sumA: Float64Array, sumB: Float64Array, factor: number): void {
  const length = sumA.length;
  for (let i = 0; i < length; i++) outUv[i] = (sumA[i] + sumB[i]) * factor;
}
