import { heldMuscle } from './heldMuscle.ts';
import { muscleBursts, muscleCarriers } from './muscleBursts.ts';
import type { NoiseSource } from './noiseSource.ts';

const MUSCLE_LOW_HZ = 60; // spectrum of the muscles at work, as of the jaw: model values
const MUSCLE_HIGH_HZ = 220;

/**
 * Gross movement: slow voltages of pulled electrodes and leads (0.5–20 Hz), and the noise of the muscles at work.
 *
 * Both follow the same bursts; `leadFactor` scales the pull, `muscleShare` the muscles. A pull acts on each electrode
 * by itself, so nothing cancels between two electrodes and the size does not depend on the montage. A movement that is
 * asked for is held on top, see `heldMuscle`. Streams: 'movement/…', 'movement/muscle/…'.
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
    const [pullGains, workGains] = [scaled(setting.leadFactor), scaled(setting.muscleShare)];
    // Two trains over equal streams draw equal bursts.
    const pulls = muscleBursts('movement', setting, pullGains, sampleRateHz, seed);
    const works = muscleBursts(
      'movement',
      setting,
      workGains,
      sampleRateHz,
      seed,
      muscleCarriers('movement/muscle', muscleBand, gains.length, sampleRateHz, seed),
    );
    const pull = heldMuscle('movement', pulls, setting, pullGains, sampleRateHz, seed);
    const atWork = { ...muscleBand, heldUv: setting.heldUv };
    const work = heldMuscle('movement/muscle', works, atWork, workGains, sampleRateHz, seed);
    if (!pull || !work) return null;
    return {
      addUv(channelsUv, start, count) {
        pull.addUv(channelsUv, start, count);
        work.addUv(channelsUv, start, count);
      },
    };
  },
};
