import { resolveScenario } from '../../src/core/scenario/resolve.ts';
import type { Scenario } from '../../src/core/scenario/schema.ts';

/** The standard recording holds so many sweeps; a longer one, for the memory check, holds a multiple. */
export const STANDARD_SWEEP_COUNT = 6000;

/**
 * The work unit of every speed figure: 6000 sweeps at 21.1/s, two channels at 20 kHz, 284 s of signal.
 *
 * Background with its floor, muscle bursts, mains with four harmonics, drift, amplifier noise, response; coupling, gain,
 * clip, 16 bits, 4th-order band-pass; 300-sample sweeps. The range is wide enough for the bursts, so that the clip is
 * tested for at every sample and almost never taken.
 */
export function standardScenario(lengthFactor = 1): Scenario {
  const ratePerS = 21.1;
  return resolveScenario({
    id: 'standard-recording',
    // Half a sweep more than needed, so that rounding cannot lose the last one.
    session: { durationS: (STANDARD_SWEEP_COUNT * lengthFactor + 0.5) / ratePerS },
    stimulus: { ratePerS },
    muscle: { burstsPerS: 0.25 },
    mains: { fundamentalUv: 4, harmonicRatios: [1, 0.15, 0.4, 0.1] },
    amplifier: { rangeUv: 1000 },
    converter: { sampleRateHz: 20000, bits: 16 },
    filter: { highPassOrder: 2, lowPassOrder: 2 },
    window: { preMs: 3, postMs: 12 },
  });
}

/** Samples of the whole recording, one channel: from switching on to the end of the last sweep. */
export function standardSampleCount(scenario: Scenario, sweepCount: number): number {
  const { stimulus, window, converter } = scenario;
  const seconds = 0.5 + (sweepCount - 1) / stimulus.ratePerS + window.postMs / 1000;
  return Math.round(seconds * converter.sampleRateHz);
}
