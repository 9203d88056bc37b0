import type { ReadPeak } from './readPeaks.ts';

/** How far a peak that was read is from the truth. */
export interface PeakError {
  name: string;
  latencyErrorMs: number;
  /** Relative to what the reader was told to expect: within ±2 in 95 of 100 if the standard deviations are right. */
  latencyZ: number;
  amplitudeErrorUv: number;
  toTroughErrorUv: number;
  /** Size from peak to trough over the true one: amplitude bias of this peak. */
  toTroughGain: number;
}

/**
 * Compares the peaks of an average with those of the truth, both read by the same rule.
 *
 * @returns one entry for each peak that both have, in the order of the average
 */
export function peakErrors(read: readonly ReadPeak[], truth: readonly ReadPeak[]): PeakError[] {
  return read.flatMap((peak) => {
    const real = truth.find(({ name }) => name === peak.name);
    if (!real) return [];
    const latencyErrorMs = peak.latencyMs - real.latencyMs;
    return {
      name: peak.name,
      latencyErrorMs,
      latencyZ: latencyErrorMs / peak.latencySdMs,
      amplitudeErrorUv: peak.amplitudeUv - real.amplitudeUv,
      toTroughErrorUv: peak.toTroughUv - real.toTroughUv,
      toTroughGain: peak.toTroughUv / real.toTroughUv,
    };
  });
}
