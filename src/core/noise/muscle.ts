import { nextExponential, nextLogNormal, nextUniform, stream } from '../random/stream.ts';
import type { Scenario } from '../scenario/schema.ts';
import { burstTrain } from './burstTrain.ts';
import { relativeGain } from './electrodeSite.ts';
import { heldMuscle } from './heldMuscle.ts';
import { muscleCarrier } from './muscleCarrier.ts';
import type { NoiseSource, PlayingNoise } from './noiseSource.ts';

/**
 * Muscle bursts: clenches and swallows.
 *
 *     e(t) = z(t) · Σ_b a_b · envelope_b(t)
 *
 * Onsets are Poisson, lengths and sizes log-normal, the envelope rises and falls smoothly in 30–80 ms, and z is noise
 * of the muscle spectrum, independent in the two channels. All draws of a burst come at its onset in a fixed order, so
 * a larger burst is the same burst, larger. A clench that is asked for is held on top, see `heldMuscle`. Streams:
 * 'muscle/bursts', 'muscle/carrier', 'muscle/held/carrier'.
 */
export const muscle: NoiseSource = {
  id: 'muscle',
  label: 'Muscle bursts',
  create(scenario, seed) {
    const { sampleRateHz } = scenario.converter;
    const gain = relativeGain('clench', scenario.montage.site);
    const gains = [gain, gain * scenario.muscle.contralateralGain];
    return heldMuscle('muscle', bursts(scenario, gains, seed), scenario.muscle, gains, sampleRateHz, seed);
  },
};

function bursts(scenario: Scenario, gains: readonly number[], seed: string): PlayingNoise | null {
  const { burstsPerS, durationS, durationLogSd, burstUv, burstLogSd, lowHz, highHz, unitsPerS } = scenario.muscle;
  if (burstsPerS === 0 || burstUv === 0) return null;
  const { sampleRateHz } = scenario.converter;
  const draws = stream(seed, 'muscle/bursts');
  const carriers = [0, 1].map((channel) =>
    muscleCarrier(stream(seed, 'muscle/carrier', channel), lowHz, highHz, sampleRateHz, unitsPerS),
  );
  let onsetS = 0;
  return burstTrain(
    () => {
      onsetS += nextExponential(draws) / burstsPerS;
      const from = Math.ceil(onsetS * sampleRateHz);
      const length = Math.ceil(nextLogNormal(draws, durationS, durationLogSd) * sampleRateHz);
      const rmsUv = nextLogNormal(draws, burstUv, burstLogSd);
      const rise = Math.ceil((0.03 + 0.05 * nextUniform(draws)) * sampleRateHz);
      return { from, to: from + Math.max(length, 2 * rise), rise, rmsUv };
    },
    carriers,
    gains,
  );
}
