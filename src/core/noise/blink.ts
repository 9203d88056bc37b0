import { cosineOfCycles, sineOfCycles } from '../elementary.ts';
import { nextExponential, nextLogNormal, stream } from '../random/stream.ts';
import { channelGain } from './electrodeSite.ts';
import type { NoiseSource } from './noiseSource.ts';
import { sooner, staresOf } from './staring.ts';

const BIPHASIC_PEAK = 0.769800358919501; // largest sin(2πu)·sin(πu), at tan²(πu) = 2: 4/(3√3)

const OTHER_EYE = 0.9; // size on the other side, our choice

interface Blink {
  from: number; // sample of the recording
  length: number;
  sizeUv: number;
}

/**
 * Eye blinks: slow waves of about 250 ms, together on both sides.
 *
 *     x(u) = size·(1 − cos 2πu)/2                at a distance from the eye, u = 0 … 1 over the blink
 *     x(u) = size·sin(2πu)·sin(πu)/0.77          under the eye: down and up again
 *
 * Pauses between blinks are exponential, lengths and sizes log-normal; with `staringFactor` they come more often once a
 * gaze has been held up for 8 s. Almost all of it lies below 10 Hz. The shape is
 * our choice. Stream: 'blink/onsets'.
 */
export const blink: NoiseSource = {
  id: 'blink',
  label: 'Eye blinks',
  create(scenario, seed) {
    const setting = scenario.eyes;
    if (setting.blinksPerS === 0 || setting.blinkUv === 0) return null;
    const { sampleRateHz } = scenario.converter;
    const { site } = scenario.montage;
    const gain = channelGain('eye', site);
    const shape = site === 'infra-orbital' ? biphasic : monophasic;
    const draws = stream(seed, 'blink/onsets');
    const stares = setting.staringFactor === 1 ? [] : staresOf(scenario);
    let endS = 0; // of the last blink
    let upcoming = drawBlink();
    let active: Blink[] = [];

    function drawBlink(): Blink {
      // The eye is closed for a while, so the open time is what is left of the mean interval.
      const meanPauseS = 1 / setting.blinksPerS - setting.blinkS;
      const onsetS = sooner(stares, setting.staringFactor, endS, meanPauseS * nextExponential(draws));
      const lengthS = nextLogNormal(draws, setting.blinkS, setting.blinkLengthLogSd);
      endS = onsetS + lengthS;
      return {
        from: Math.ceil(onsetS * sampleRateHz),
        length: lengthS * sampleRateHz,
        sizeUv: nextLogNormal(draws, setting.blinkUv, setting.blinkLogSd),
      };
    }

    return {
      addUv([out0, out1], start, count) {
        const end = start + count;
        while (upcoming.from < end) {
          active.push(upcoming);
          upcoming = drawBlink();
        }
        for (const { from, length, sizeUv } of active) {
          const last = Math.min(end, from + Math.ceil(length));
          for (let i = Math.max(start, from); i < last; i++) {
            const value = gain * sizeUv * shape((i - from) / length);
            out0[i - start] += value;
            out1[i - start] += OTHER_EYE * value;
          }
        }
        if (active.length > 0) active = active.filter(({ from, length }) => from + length > end);
      },
    };
  },
};

function monophasic(u: number): number {
  return (1 - cosineOfCycles(u)) / 2;
}

function biphasic(u: number): number {
  return (-sineOfCycles(u) * sineOfCycles(u / 2)) / BIPHASIC_PEAK;
}
