import { exp, PI } from '../elementary.ts';
import { addLevelsAndGaussian, fillGaussian, nextGaussian, type Stream, stream } from '../random/stream.ts';
import { CHANNEL_COUNT, type NoiseSource } from './noiseSource.ts';
import { SLOW_STEP_SAMPLES, SLOW_STEP_SHIFT, type SlowLevels, slowLevels } from './slowLevels.ts';

/**
 * Voltage noise of the first stage: white, and 1/f below a corner.
 *
 *     S(f) = e²·(1 + f_c/f)
 *
 * The 1/f part is a sum of Ornstein–Uhlenbeck processes with corners a factor 10 apart, of equal variance
 * e²·f_c·ln 10: within 1 dB of 1/f between the lowest corner and f_c. It moves every 32 samples, so an f_c above 1/50
 * of the sample rate is met within 2.5 dB only. Streams: 'amplifier/white', 'amplifier/flicker'.
 */
export const amplifierNoise: NoiseSource = {
  id: 'amplifier',
  label: 'Amplifier noise',
  beyondContacts: true,
  create(scenario, seed) {
    const { noiseNvPerRtHz, flickerCornerHz } = scenario.amplifier;
    if (noiseNvPerRtHz === 0) return null;
    const { sampleRateHz } = scenario.converter;
    const whiteUv = Float64Array.of((noiseNvPerRtHz / 1000) * Math.sqrt(sampleRateHz / 2));
    const stepS = SLOW_STEP_SAMPLES / sampleRateHz;
    // One-sided density of one process at f between corners sums to variance/(f·ln 10), so variance = e²·f_c·ln 10.
    const processUv = (noiseNvPerRtHz / 1000) * Math.sqrt(flickerCornerHz * 2.302585092994046);
    const slowestFirstS = [100, 10, 1].map((below) => below / (2 * PI * Math.max(flickerCornerHz, 0.001)));
    const channels = Array.from({ length: CHANNEL_COUNT }, (_, channel) => ({
      white: stream(seed, 'amplifier/white', channel),
      flicker: sumOfSlowProcesses(stream(seed, 'amplifier/flicker', channel), processUv, slowestFirstS, stepS),
    }));

    return {
      addUv(channelsUv, start, count) {
        for (let c = 0; c < CHANNEL_COUNT; c++) {
          const { white, flicker } = channels[c];
          const phase = flicker.advance(start, count);
          addLevelsAndGaussian(white, whiteUv, flicker.levels, phase, SLOW_STEP_SHIFT, channelsUv[c], count);
        }
      },
    };
  },
};

/**
 * The sum of three Ornstein–Uhlenbeck processes of one standard deviation, all drawn from one stream.
 *
 * Written out instead of three `ornsteinUhlenbeck`, whose calls cost more than the draws: 1.2 against 0.4 ns a sample.
 */
function sumOfSlowProcesses(draws: Stream, sd: number, memoriesS: readonly number[], stepS: number): SlowLevels {
  const keep = Float64Array.from(memoriesS, (memoryS) => exp(-stepS / memoryS));
  const kick = keep.map((kept) => sd * Math.sqrt(1 - kept * kept));
  const state = keep.map(() => sd * nextGaussian(draws));
  let fresh = new Float64Array(0);
  return slowLevels((levels, from, to) => {
    const drawCount = 3 * (to - from);
    if (fresh.length < drawCount) fresh = new Float64Array(drawCount);
    fillGaussian(draws, fresh, drawCount);
    let x = state[0];
    let y = state[1];
    let z = state[2];
    for (let j = from, k = 0; j < to; j++, k += 3) {
      levels[j] = x + y + z;
      x = keep[0] * x + kick[0] * fresh[k];
      y = keep[1] * y + kick[1] * fresh[k + 1];
      z = keep[2] * z + kick[2] * fresh[k + 2];
    }
    state[0] = x;
    state[1] = y;
    state[2] = z;
  });
}
