/** Hands on what it was given a fixed number of samples ago; zeros before that. */
export interface DelayLine {
  run(signal: Float64Array, count: number): void;
}

/** Makes a delay line for one signal. @param delaySampleCount - ≥ 0 */
export function delayLine(delaySampleCount: number): DelayLine {
  const held = new Float64Array(delaySampleCount);
  let at = 0;
  return {
    run(signal, count) {
      if (delaySampleCount === 0) return;
      for (let i = 0; i < count; i++) {
        const old = held[at];
        held[at] = signal[i];
        signal[i] = old;
        at = at + 1 < delaySampleCount ? at + 1 : 0;
      }
    },
  };
}
