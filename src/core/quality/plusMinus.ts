import { belongsToA } from '../averaging/strategy.ts';
import { checkWindow } from './residualNoise.ts';

/** How sweeps take turns: every other sweep, or every other pair so that both buffers hold both polarities. */
export type Turn = 'sweeps' | 'pairs';

/**
 * The plus–minus reference: the average with every other sweep upside down.
 *
 *     ½(A − B),   A and B the means of the sweeps whose turn it is
 *
 * The response cancels, the noise does not [SC67]. Blind to what is common to A and B (a hum that locks); over-alarmed
 * by what alternates with the turns (a hum at half-integer lock with 'sweeps', quarter lock with 'pairs').
 */
export interface PlusMinus {
  add(sweepUv: Float64Array, index: number): void;
  /** Writes the two means, µV; NaN until a buffer has a sweep. */
  readPair(outAUv: Float64Array, outBUv: Float64Array): void;
  /** Noise of the whole mean, µV rms over samples [from, to); NaN until both buffers have a sweep. */
  noiseUv(from: number, to: number): number;
}

/** Makes an empty plus–minus reference. */
export function plusMinus(samplesPerSweep: number, turn: Turn): PlusMinus {
  if (!(samplesPerSweep > 0)) throw new RangeError(`plusMinus: samplesPerSweep must be > 0, got ${samplesPerSweep}`);
  const sumA = new Float64Array(samplesPerSweep);
  const sumB = new Float64Array(samplesPerSweep);
  const meanA = new Float64Array(samplesPerSweep);
  const meanB = new Float64Array(samplesPerSweep);
  let countA = 0;
  let countB = 0;

  function readPair(outAUv: Float64Array, outBUv: Float64Array): void {
    for (let i = 0; i < samplesPerSweep; i++) {
      outAUv[i] = sumA[i] / countA;
      outBUv[i] = sumB[i] / countB;
    }
  }

  return {
    add(sweepUv, index) {
      const toA = turn === 'pairs' ? belongsToA(index) : index % 2 === 0;
      const sum = toA ? sumA : sumB;
      for (let i = 0; i < samplesPerSweep; i++) sum[i] += sweepUv[i];
      if (toA) countA++;
      else countB++;
    },
    readPair,
    noiseUv(from, to) {
      readPair(meanA, meanB);
      return splitHalfNoiseUv(meanA, meanB, from, to, countA / (countA + countB));
    },
  };
}

/**
 * Estimates the noise left in an average from its two split buffers.
 *
 *     √( a·(1 − a)·mean over the window of (A − B)² ),   a = share of A in the whole;  ½·rms(A − B) for equal buffers
 *
 * Holds for equally noisy sweeps of any split, and for weights inverse to the noise. One run's value scatters as much
 * as the true noise does: by 1/√(2ν) with ν independent numbers in the window.
 *
 * @param shareA - 0 … 1, share of the weight in A   @returns µV rms; NaN if a sample is NaN
 * @throws {RangeError} if the window is empty or outside, or the share is not within 0 … 1
 * @example splitHalfNoiseUv(Float64Array.of(1, 1), Float64Array.of(0, 2), 0, 2) // 0.5
 */
export function splitHalfNoiseUv(
  bufferAUv: Float64Array,
  bufferBUv: Float64Array,
  from: number,
  to: number,
  shareA = 0.5,
): number {
  checkWindow('splitHalfNoiseUv', bufferAUv, bufferBUv, from, to);
  if (shareA < 0 || shareA > 1) throw new RangeError(`splitHalfNoiseUv: shareA must lie within 0 to 1, got ${shareA}`);
  let sum = 0;
  for (let i = from; i < to; i++) sum += (bufferAUv[i] - bufferBUv[i]) * (bufferAUv[i] - bufferBUv[i]);
  return Math.sqrt((shareA * (1 - shareA) * sum) / (to - from));
}
