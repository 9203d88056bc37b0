import { filterCascade, type Section } from './filters.ts';

/**
 * Filters a finished recording forwards and backwards, so that nothing is delayed.
 *
 * The magnitude response is that of the sections squared: a corner of −3 dB becomes −6 dB. The ends are extended by odd
 * reflection over `padSampleCount` samples, so that the filter starts without a step. It looks into the future, so it
 * serves stored recordings only.
 *
 * @param signal - any unit; not changed   @returns the filtered signal, same length
 * @throws {RangeError} if the signal has fewer than 2 samples
 */
export function zeroPhase(sections: readonly Section[], signal: Float64Array, padSampleCount: number): Float64Array {
  const length = signal.length;
  if (!(length >= 2)) throw new RangeError(`zeroPhase: signal must have at least 2 samples, got ${length}`);
  const pad = Math.min(Math.max(0, Math.ceil(padSampleCount)), length - 1);
  const extended = new Float64Array(length + 2 * pad);
  extended.set(signal, pad);
  for (let i = 1; i <= pad; i++) {
    extended[pad - i] = 2 * signal[0] - signal[i];
    extended[pad + length - 1 + i] = 2 * signal[length - 1] - signal[length - 1 - i];
  }
  // The first value is taken off and comes back through the gain for constants, so that the filter starts at rest.
  const constantGain = sections.reduce((gain, { b0, b1, b2, a1, a2 }) => (gain * (b0 + b1 + b2)) / (1 + a1 + a2), 1);
  for (let pass = 0; pass < 2; pass++) {
    const first = extended[0];
    for (let i = 0; i < extended.length; i++) extended[i] -= first;
    filterCascade(sections).run(extended, new Float64Array(extended.length), extended.length);
    for (let i = 0; i < extended.length; i++) extended[i] += first * constantGain;
    extended.reverse();
  }
  return extended.slice(pad, pad + length);
}
