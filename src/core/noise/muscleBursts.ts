import { nextLogNormal, nextUniform, stream } from '../random/stream.ts';
import { type BurstCarrier, burstTrain } from './burstTrain.ts';
import { muscleCarrier } from './muscleCarrier.ts';
import type { PlayingNoise } from './noiseSource.ts';
import { onsetPauses } from './onsetPauses.ts';

/** What the bursts of one muscle are like; the sections of the scenario carry these keys. */
export interface BurstSetting {
  burstsPerS: number;
  clustering: number;
  durationS: number;
  durationLogSd: number;
  burstUv: number;
  burstLogSd: number;
  lowHz: number;
  highHz: number;
  unitsPerS?: number;
}

/**
 * Starts bursts of one muscle: onsets Poisson or clustered, lengths and sizes log-normal, edges of 30–80 ms.
 *
 * The corners of the spectra are model values; what they pass lies within 15–25 to 400–500 Hz, the band of muscles of
 * face, jaw and neck [VB01]. All draws of a burst come at its onset in a fixed order, so a larger burst is the same
 * burst, larger. Streams: '<id>/onsets', '<id>/bursts', '<id>/carrier'.
 *
 * @param gains - size in each channel   @param carriers - by default noise of the muscle spectrum, own in each channel
 * @returns null if the setting has no bursts
 */
export function muscleBursts(
  id: string,
  setting: BurstSetting,
  gains: readonly number[],
  sampleRateHz: number,
  seed: string,
  carriers: readonly BurstCarrier[] = muscleCarriers(id, setting, gains.length, sampleRateHz, seed),
): PlayingNoise | null {
  if (setting.burstsPerS === 0 || setting.burstUv === 0) return null;
  const pauseS = onsetPauses(stream(seed, `${id}/onsets`), setting.burstsPerS, setting.clustering);
  const draws = stream(seed, `${id}/bursts`);
  let onsetS = 0;
  return burstTrain(
    () => {
      onsetS += pauseS();
      const from = Math.ceil(onsetS * sampleRateHz);
      const length = Math.ceil(nextLogNormal(draws, setting.durationS, setting.durationLogSd) * sampleRateHz);
      const rmsUv = nextLogNormal(draws, setting.burstUv, setting.burstLogSd);
      const rise = Math.ceil((0.03 + 0.05 * nextUniform(draws)) * sampleRateHz);
      return { from, to: from + Math.max(length, 2 * rise), rise, rmsUv };
    },
    carriers,
    gains,
  );
}

/** Noise of one muscle's spectrum, independent from channel to channel. Stream: '<id>/carrier'. */
export function muscleCarriers(
  id: string,
  { lowHz, highHz, unitsPerS }: { lowHz: number; highHz: number; unitsPerS?: number },
  channelCount: number,
  sampleRateHz: number,
  seed: string,
): BurstCarrier[] {
  return Array.from({ length: channelCount }, (_, channel) =>
    muscleCarrier(stream(seed, `${id}/carrier`, channel), lowHz, highHz, sampleRateHz, unitsPerS),
  );
}
