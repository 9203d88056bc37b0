import { addScaled } from '../averaging/addScaled.ts';

/** The session-mean truth: the mean of the noise-free responses of all sweeps presented so far. */
export interface RunningTruth {
  add(truthUv: Float64Array): void;
  read(outUv: Float64Array): void;
}

/**
 * Makes an empty running truth.
 *
 *     s_ref = (1/N) Σ s[k]   over every presented sweep, whether a strategy used it or not
 *
 * This is what unlimited plain averaging would give; a strategy that picks its sweeps is judged against all of them.
 */
export function runningTruth(samplesPerSweep: number): RunningTruth {
  const sumUv = new Float64Array(samplesPerSweep);
  let count = 0;
  return {
    add(truthUv) {
      addScaled(sumUv, truthUv, 1);
      count++;
    },
    read(outUv) {
      for (let i = 0; i < samplesPerSweep; i++) outUv[i] = sumUv[i] / count;
    },
  };
}
