import { exp, log, sineOfCycles } from '../elementary.ts';
import { nextLogNormal, nextUniform, stream } from '../random/stream.ts';
import { breathingRhythm } from './breathingRhythm.ts';
import { channelGain } from './electrodeSite.ts';
import type { NoiseSource } from './noiseSource.ts';
import { SLOW_STEP_SAMPLES } from './slowLevels.ts';

// Waves of one beat as bells: time after the main peak and half-width, ms; size relative to the main peak. Model
// values: together the QRS complex lasts about 80 ms, the T wave is over after 400 ms.
const WAVES = [
  { name: 'P', timeMs: -160, widthMs: 20, size: 0.1 },
  { name: 'Q', timeMs: -28, widthMs: 8, size: -0.12 },
  { name: 'R', timeMs: 0, widthMs: 10, size: 1 },
  { name: 'S', timeMs: 28, widthMs: 9, size: -0.2 },
  { name: 'T', timeMs: 280, widthMs: 40, size: 0.25 },
];
const BEFORE_S = 0.25; // from the first to the last sample of a beat, around its main peak
const AFTER_S = 0.45;
const CONTRALATERAL = { head: -0.8, neck: 0.8 }; // the heart lies low and to the left: our choice

/**
 * Electrocardiogram: P wave, QRS complex and T wave of every beat.
 *
 *     RR_k = LogN(mean, SD)·[1 + b·sin(2πφ(t_k))]          φ the phase of the breath, b = breathingShare
 *
 * Large between neck and breastbone, small on the head, with opposite sign on its two sides. Not modelled: changes of
 * shape with breath or position, extra beats. Streams: 'heart/beats', and 'breathing/rhythm' read only.
 */
export const heart: NoiseSource = {
  id: 'heart',
  label: 'Heart',
  create(scenario, seed) {
    const setting = scenario.heart;
    if (setting.qrsUv === 0) return null;
    const { sampleRateHz } = scenario.converter;
    const { site } = scenario.montage;
    const gain = channelGain('heart', site);
    const gains = [gain, gain * (site === 'neck' ? CONTRALATERAL.neck : CONTRALATERAL.head)];
    const before = Math.ceil(BEFORE_S * sampleRateHz);
    const beat = Float64Array.from({ length: before + Math.ceil(AFTER_S * sampleRateHz) }, (_, i) =>
      beatShape((1000 * (i - before)) / sampleRateHz),
    );
    const draws = stream(seed, 'heart/beats');
    const rhythm = breathingRhythm(scenario, seed);
    const logVariance = log(1 + (setting.beatSdS / setting.beatS) * (setting.beatSdS / setting.beatS));
    let peakS = setting.beatS * nextUniform(draws);
    let upcoming = Math.round(peakS * sampleRateHz);
    let beating: number[] = []; // samples of main peaks

    function nextBeat(): number {
      const breath = sineOfCycles(rhythm.turnsAtStep(Math.floor((peakS * sampleRateHz) / SLOW_STEP_SAMPLES)));
      const medianS = setting.beatS * exp(-logVariance / 2);
      peakS += nextLogNormal(draws, medianS, Math.sqrt(logVariance)) * (1 + setting.breathingShare * breath);
      return Math.round(peakS * sampleRateHz);
    }

    return {
      addUv(channelsUv, start, count) {
        const end = start + count;
        while (upcoming - before < end) {
          beating.push(upcoming);
          upcoming = nextBeat();
        }
        for (const peak of beating) {
          const first = peak - before;
          const from = Math.max(start, first);
          const to = Math.min(end, first + beat.length);
          for (let c = 0; c < 2; c++) {
            const out = channelsUv[c];
            const sizeUv = setting.qrsUv * gains[c];
            for (let i = from; i < to; i++) out[i - start] += sizeUv * beat[i - first];
          }
        }
        beating = beating.filter((peak) => peak - before + beat.length > end);
      },
    };
  },
};

function beatShape(timeMs: number): number {
  let sum = 0;
  for (const wave of WAVES) {
    const u = (timeMs - wave.timeMs) / wave.widthMs;
    sum += wave.size * exp(-0.5 * u * u);
  }
  return sum;
}
