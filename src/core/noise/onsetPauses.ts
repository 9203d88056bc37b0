import { exp, log } from '../elementary.ts';
import { nextExponential, nextUniform, type Stream } from '../random/stream.ts';

const CLUSTER_MEMORY_S = 3; // how long one burst invites the next: our choice

/**
 * Draws the pauses between onsets: Poisson, or clustered.
 *
 *     rate(t) = onsetsPerS·(1 − n) + Σ_b (n/τ)·exp(−(t − t_b)/τ)        n = clustering, τ = 3 s
 *
 * A Hawkes process [HA71]: each burst brings n more on average, and the mean rate stays `onsetsPerS`. Two draws a
 * pause; the clustered part is drawn exactly [DZ13].
 *
 * @param onsetsPerS - 1/s, > 0   @param clustering - n, 0 ≤ n < 1; 0 for Poisson
 * @returns the next pause, s, at each call
 */
export function onsetPauses(draws: Stream, onsetsPerS: number, clustering: number): () => number {
  const backgroundPerS = onsetsPerS * (1 - clustering);
  let invitedPerS = 0; // the clustered part of the rate just after the last onset
  return () => {
    const spontaneousS = nextExponential(draws) / backgroundPerS;
    // The integral of a decaying rate is finite: with some chance the invitation is never followed.
    const remaining = invitedPerS > 0 ? 1 + log(nextUniform(draws)) / (invitedPerS * CLUSTER_MEMORY_S) : 0;
    if (!(invitedPerS > 0)) nextUniform(draws);
    const invitedS = remaining > 0 ? -CLUSTER_MEMORY_S * log(remaining) : Infinity;
    const pauseS = Math.min(spontaneousS, invitedS);
    invitedPerS = invitedPerS * exp(-pauseS / CLUSTER_MEMORY_S) + clustering / CLUSTER_MEMORY_S;
    return pauseS;
  };
}
