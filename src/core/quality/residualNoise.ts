/**
 * Measures the true residual noise of an average: how far it is from the noise-free response.
 *
 *     e = √( mean over the window of (estimate − truth)² )
 *
 * One run's value is itself random; scores use `expectedNoise` over replicates.
 *
 * @param estimateUv - average, µV   @param truthUv - noise-free response through the same chain, µV, same length
 * @param from - first sample of the window   @param to - sample after its last
 * @returns µV rms; NaN if any sample is NaN   @throws {RangeError} if the window is empty or outside
 * @example residualNoiseUv(Float64Array.of(1, 3), Float64Array.of(0, 3), 0, 2) // 0.7071067811865476
 */
export function residualNoiseUv(estimateUv: Float64Array, truthUv: Float64Array, from: number, to: number): number {
  checkWindow('residualNoiseUv', estimateUv, truthUv, from, to);
  let sum = 0;
  for (let i = from; i < to; i++) {
    const error = estimateUv[i] - truthUv[i];
    sum += error * error;
  }
  return Math.sqrt(sum / (to - from));
}

/** Refuses windows that a measure cannot work on. */
export function checkWindow(name: string, a: Float64Array, b: Float64Array, from: number, to: number): void {
  if (a.length !== b.length) throw new RangeError(`${name}: lengths must agree, got ${a.length} and ${b.length}`);
  if (!(from >= 0 && to > from && to <= a.length)) {
    throw new RangeError(`${name}: window must lie within 0 to ${a.length}, got ${from} to ${to}`);
  }
}
