import { exp } from '../elementary.ts';

/** One bump of a response, with the trough that may follow it. */
export interface Wave {
  name: string;
  latencyMs: number;
  /** Standard deviation of the bell, ms. */
  widthMs: number;
  /** µV base to peak, positive up. */
  amplitudeUv: number;
  /** Trough that follows: its size relative to the peak, and its delay. */
  troughRatio: number;
  troughDelayMs: number;
}

/** A bump without a trough. */
export function bump(name: string, latencyMs: number, widthMs: number, amplitudeUv: number): Wave {
  return { name, latencyMs, widthMs, amplitudeUv, troughRatio: 0, troughDelayMs: 0 };
}

/**
 * Value of a sum of waves at one time after the stimulus, µV.
 *
 *     s(t) = Σ_w A_w · [ g(t; τ_w, σ_w) − ρ_w · g(t; τ_w + δ_w, 1.4·σ_w) ],   g(t; τ, σ) = exp(−(t − τ)²/2σ²)
 *
 * Overlap moves the peaks: τ_w is not the latency of a peak of the sum. Without waves it is 0.
 *
 * @param timeMs - ms after the sound reaches the ear tip
 * @example wavesUv([bump('V', 5.6, 0.36, 0.5)], 5.6) // 0.5
 */
export function wavesUv(waves: readonly Wave[], timeMs: number): number {
  let sum = 0;
  for (const wave of waves) {
    const rise = (timeMs - wave.latencyMs) / wave.widthMs;
    const fall = (timeMs - wave.latencyMs - wave.troughDelayMs) / (1.4 * wave.widthMs);
    sum += wave.amplitudeUv * (bell(rise) - wave.troughRatio * bell(fall));
  }
  return sum;
}

/** e^(−z²/2). Beyond z² = 80 it is below 10⁻¹⁷ and lost beside a peak of 1: most of a template lies out there. */
function bell(z: number): number {
  return z * z < 80 ? exp(-0.5 * z * z) : 0;
}
