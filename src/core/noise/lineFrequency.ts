import { ornsteinUhlenbeck } from '../random/ornsteinUhlenbeck.ts';
import { stream } from '../random/stream.ts';
import type { Scenario } from '../scenario/schema.ts';

/** Samples for which the line frequency is constant: 64 ms at 16 kHz, far below any wander. */
export const LINE_STEP_SAMPLES = 1024;

/**
 * Makes the frequency of the supply, as it is in every socket: all that hums follows the same one.
 *
 *     f₀ + δf,   δf Ornstein–Uhlenbeck
 *
 * Stream: 'mains/wander'. @returns the frequency in turns per sample at each next step
 */
export function lineFrequency({ mains, converter }: Pick<Scenario, 'mains' | 'converter'>, seed: string): () => number {
  const { sampleRateHz } = converter;
  const stepS = LINE_STEP_SAMPLES / sampleRateHz;
  const wander = ornsteinUhlenbeck(stream(seed, 'mains/wander'), mains.wanderHz, mains.wanderMemoryS, stepS);
  return () => (mains.lineHz + wander.next()) / sampleRateHz;
}
