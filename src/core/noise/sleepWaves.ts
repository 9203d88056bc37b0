import { PI } from '../elementary.ts';
import { stream } from '../random/stream.ts';
import type { Scenario } from '../scenario/schema.ts';
import { EEG_STATES } from './eegStates.ts';
import { joinedSteps } from './joinedSteps.ts';
import { CHANNEL_COUNT, type PlayingNoise } from './noiseSource.ts';
import { SLOW_STEP_SAMPLES } from './slowLevels.ts';
import { smoothWander } from './smoothWander.ts';

const CORNER_HZ = 2; // our choice: delta waves, gone where a response is sought

/**
 * Slow waves of a sleeping infant, the part that sleep adds to the EEG background.
 *
 *     S(f) = (d − s²)·a₁/(1 + (f/2 Hz)²)²          a₁ the low-frequency density of the relaxed background
 *
 * s is the size of the state and d = 6 its density below 2 Hz, both relative to the relaxed background: together with
 * the background s²·a₁ the low end comes to d·a₁, while above 10 Hz only s counts. Each channel has its own waves, with
 * the likeness of the background. Stream: 'eeg/sleep-waves'.
 *
 * @returns null in every other state
 */
export function sleepWaves(scenario: Scenario, seed: string): PlayingNoise | null {
  const { state, slowUv, cornerHz, channelCorrelation } = scenario.eeg;
  const { size, slowDensity } = EEG_STATES[state];
  const density = (slowDensity - size * size) * ((slowUv * slowUv) / (cornerHz * (PI / 2))); // µV²/Hz
  if (!(density > 0)) return null;
  const sizeUv = Math.sqrt((density * CORNER_HZ * PI) / 4);
  const stepS = SLOW_STEP_SAMPLES / scenario.converter.sampleRateHz;
  const waves = Array.from({ length: CHANNEL_COUNT }, (_, channel) =>
    smoothWander(stream(seed, 'eeg/sleep-waves', channel), CORNER_HZ, stepS),
  );
  const own = Math.sqrt(1 - channelCorrelation * channelCorrelation);
  return joinedSteps((valuesUv) => {
    const first = waves[0]();
    valuesUv[0] = sizeUv * first;
    valuesUv[1] = sizeUv * (channelCorrelation * first + own * waves[1]());
  });
}
