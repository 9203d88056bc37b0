import { nextExponential, nextLogNormal, nextUniform, stream } from '../random/stream.ts';
import { burstTrain } from './burstTrain.ts';
import { channelGain } from './electrodeSite.ts';
import { muscleCarriers } from './muscleBursts.ts';
import type { NoiseSource } from './noiseSource.ts';

const RISE_S = 0.03; // model value, the quickest edge of a burst
const RHYTHM_SPREAD = 1 / 3; // 1 to 2 sucks a second about 1.5: model value
const UNEVENNESS = 0.1; // scatter of the time between two sucks, our choice

/**
 * An infant that sucks: bouts of about 10 s with one or two short bursts a second, then a pause.
 *
 * Pauses and bouts are exponential, the rhythm is drawn for each bout, sizes are log-normal. A stimulus rate near a
 * whole multiple of the rhythm meets the bursts at the same phase for a while. Streams: 'sucking/bouts',
 * 'sucking/bursts', 'sucking/carrier'.
 */
export const sucking: NoiseSource = {
  id: 'sucking',
  label: 'Sucking',
  create(scenario, seed) {
    const setting = scenario.sucking;
    if (!setting.present || setting.suckUv === 0) return null;
    const { sampleRateHz } = scenario.converter;
    const gain = channelGain('sucking', scenario.montage.site);
    const boutDraws = stream(seed, 'sucking/bouts');
    const burstDraws = stream(seed, 'sucking/bursts');
    let nextS = 0;
    let boutEndS = 0;
    let sucksPerS = 0;
    return burstTrain(
      () => {
        if (nextS >= boutEndS) {
          nextS = boutEndS + setting.pauseS * nextExponential(boutDraws);
          boutEndS = nextS + setting.boutS * nextExponential(boutDraws);
          sucksPerS = setting.sucksPerS * (1 + RHYTHM_SPREAD * (2 * nextUniform(boutDraws) - 1));
        }
        const from = Math.ceil(nextS * sampleRateHz);
        const rmsUv = nextLogNormal(burstDraws, setting.suckUv, setting.suckLogSd);
        nextS += (1 + UNEVENNESS * (2 * nextUniform(burstDraws) - 1)) / sucksPerS;
        const rise = Math.min(Math.ceil(RISE_S * sampleRateHz), Math.ceil((setting.suckS * sampleRateHz) / 2));
        return { from, to: from + Math.max(Math.ceil(setting.suckS * sampleRateHz), 2 * rise), rise, rmsUv };
      },
      muscleCarriers('sucking', setting, 2, sampleRateHz, seed),
      [gain, gain * setting.contralateralGain],
    );
  },
};
