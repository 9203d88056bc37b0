import { PI } from '../elementary.ts';
import { ornsteinUhlenbeck } from '../random/ornsteinUhlenbeck.ts';
import { fillGaussian, stream } from '../random/stream.ts';
import { CHANNEL_COUNT, type NoiseSource, SLOW_STEP_SAMPLES } from './noiseSource.ts';

/**
 * Voltage noise of the first stage: white, and 1/f below a corner.
 *
 *     S(f) = e²·(1 + f_c/f)
 *
 * The 1/f part is a sum of Ornstein–Uhlenbeck processes with corners a factor 10 apart, of equal variance
 * e²·f_c·ln 10: within 1 dB of 1/f between the lowest corner and f_c. Streams: 'amplifier/white', 'amplifier/flicker'.
 */
export const amplifierNoise: NoiseSource = {
  id: 'amplifier',
  label: 'Amplifier noise',
  create(scenario, seed) {
    const { noiseNvPerRtHz, flickerCornerHz } = scenario.amplifier;
    if (noiseNvPerRtHz === 0) return null;
    const { sampleRateHz } = scenario.converter;
    const whiteUv = (noiseNvPerRtHz / 1000) * Math.sqrt(sampleRateHz / 2);
    const stepS = SLOW_STEP_SAMPLES / sampleRateHz;
    // One-sided density of one process at f between corners sums to variance/(f·ln 10), so variance = e²·f_c·ln 10.
    const processUv = (noiseNvPerRtHz / 1000) * Math.sqrt(flickerCornerHz * 2.302585092994046);
    const channels = Array.from({ length: CHANNEL_COUNT }, (_, channel) => ({
      white: stream(seed, 'amplifier/white', channel),
      flicker: [1, 10, 100].map((below, part) =>
        ornsteinUhlenbeck(
          stream(seed, 'amplifier/flicker', 10 * channel + part),
          processUv,
          below / (2 * PI * Math.max(flickerCornerHz, 0.001)),
          stepS,
        ),
      ),
      levelUv: 0,
    }));
    let buffer = new Float64Array(0);

    return {
      addUv(channelsUv, start, count) {
        if (buffer.length < count) buffer = new Float64Array(count);
        for (let c = 0; c < CHANNEL_COUNT; c++) {
          const channel = channels[c];
          const out = channelsUv[c];
          fillGaussian(channel.white, buffer, count);
          for (let from = 0; from < count; ) {
            const phase = (start + from) % SLOW_STEP_SAMPLES;
            if (phase === 0 && flickerCornerHz > 0) {
              channel.levelUv = channel.flicker.reduce((sum, process) => sum + process.next(), 0);
            }
            const to = Math.min(count, from + SLOW_STEP_SAMPLES - phase);
            const levelUv = channel.levelUv;
            for (let i = from; i < to; i++) out[i] += whiteUv * buffer[i] + levelUv;
            from = to;
          }
        }
      },
    };
  },
};
