import { muscleBursts, muscleCarriers } from './muscleBursts.ts';
import type { NoiseSource } from './noiseSource.ts';

const MUSCLE_LOW_HZ = 60; // spectrum of the muscles at work, as of the jaw: model values
const MUSCLE_HIGH_HZ = 220;

/**
 * Gross movement: slow voltages of pulled electrodes and leads (0.5–20 Hz), and the noise of the muscles at work.
 *
 * Both follow the same bursts; `leadFactor` scales the pull, `muscleShare` the muscles. A pull acts on each electrode
 * by itself, so nothing cancels between two electrodes and the size does not depend on the montage. Streams:
 * 'movement/…', 'movement/muscle/carrier'.
 */
export const movement: NoiseSource = {
  id: 'movement',
  label: 'Gross movement',
  create(scenario, seed) {
    const setting = scenario.movement;
    const { sampleRateHz } = scenario.converter;
    const gains = [1, setting.contralateralGain];
    const scaled = (factor: number) => gains.map((gain) => gain * factor);
    const muscleBand = { lowHz: MUSCLE_LOW_HZ, highHz: MUSCLE_HIGH_HZ };
    // Two trains over equal streams draw equal bursts.
    const pull = muscleBursts('movement', setting, scaled(setting.leadFactor), sampleRateHz, seed);
    const work = muscleBursts(
      'movement',
      setting,
      scaled(setting.muscleShare),
      sampleRateHz,
      seed,
      muscleCarriers('movement/muscle', muscleBand, gains.length, sampleRateHz, seed),
    );
    if (!pull || !work) return null;
    return {
      addUv(channelsUv, start, count) {
        pull.addUv(channelsUv, start, count);
        work.addUv(channelsUv, start, count);
      },
    };
  },
};
