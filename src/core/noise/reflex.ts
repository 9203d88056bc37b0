import { exp } from '../elementary.ts';
import { nextLogNormal, nextUniform, stream } from '../random/stream.ts';
import { channelGain } from './electrodeSite.ts';
import type { NoiseSource } from './noiseSource.ts';

// Model values: two bells of opposite sign; negative first at the mastoid.
const NEGATIVE_MS = 12.5;
const POSITIVE_MS = 16.5;
const WIDTH_MS = 1.4;
const END_MS = 25;
const GAZE_ASIDE_FACTOR = 3; // model value
const CROSSED = 0.5; // size on the other side, our choice

/**
 * Post-auricular muscle reflex: a twitch behind the ear, 12–18 ms after the sound.
 *
 *     x(t) = gain·A·[bell(t; 16.5) − bell(t; 12.5)],   A = peak·gaze·clip((L − 40)/45, 0, 1)·LogN
 *
 * It answers only some of the stimuli, the two sides together, and is locked to the stimulus: no averaging strategy
 * removes it. In sleep (`eeg.state`) it is gone; at the earlobe it is ten times smaller than at the mastoid. Two draws
 * a stimulus. Stream: 'reflex/answers'.
 */
export const reflex: NoiseSource = {
  id: 'reflex',
  label: 'Muscle reflex behind the ear',
  create(scenario, seed) {
    const setting = scenario.reflex;
    const asleep = scenario.eeg.state === 'deep-sleep' || scenario.eeg.state === 'infant-asleep';
    const { levelDbNhl } = scenario.stimulus;
    const loudness = Math.min(1, Math.max(0, (levelDbNhl - 40) / 45));
    const fullUv = setting.peakUv * loudness * (setting.gaze === 'aside' ? GAZE_ASIDE_FACTOR : 1);
    if (fullUv === 0 || setting.probability === 0 || asleep) return null;
    const { sampleRateHz } = scenario.converter;
    const gain = channelGain('reflex', scenario.montage.site);
    const gains = [gain, gain * CROSSED];
    const twitch = Float64Array.from({ length: Math.ceil((END_MS * sampleRateHz) / 1000) }, (_, i) =>
      twitchShape((1000 * i) / sampleRateHz),
    );
    const draws = stream(seed, 'reflex/answers');
    let twitching: { sample: number; sizeUv: number }[] = [];

    return {
      present({ sample }) {
        const answered = nextUniform(draws) < setting.probability;
        const sizeUv = nextLogNormal(draws, fullUv, setting.amplitudeLogSd);
        if (answered) twitching.push({ sample, sizeUv });
      },
      addUv(channelsUv, start, count) {
        const end = start + count;
        for (const { sample, sizeUv } of twitching) {
          const from = Math.max(start, sample);
          const to = Math.min(end, sample + twitch.length);
          for (let c = 0; c < 2; c++) {
            const out = channelsUv[c];
            for (let i = from; i < to; i++) out[i - start] += gains[c] * sizeUv * twitch[i - sample];
          }
        }
        if (twitching.length > 0) twitching = twitching.filter(({ sample }) => sample + twitch.length > end);
      },
    };
  },
};

function twitchShape(timeMs: number): number {
  const negative = (timeMs - NEGATIVE_MS) / WIDTH_MS;
  const positive = (timeMs - POSITIVE_MS) / WIDTH_MS;
  return exp(-0.5 * positive * positive) - exp(-0.5 * negative * negative);
}
