import { PI } from '../elementary.ts';
import { ornsteinUhlenbeck, type SlowProcess } from '../random/ornsteinUhlenbeck.ts';
import { fillGaussian, stream } from '../random/stream.ts';
import { CHANNEL_COUNT, type NoiseSource } from './noiseSource.ts';
import { SLOW_STEP_SAMPLES, SLOW_STEP_SHIFT, type SlowLevels, slowLevels } from './slowLevels.ts';

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
      flicker: flickerLevels(
        [1, 10, 100].map((below, part) =>
          ornsteinUhlenbeck(
            stream(seed, 'amplifier/flicker', 10 * channel + part),
            processUv,
            below / (2 * PI * Math.max(flickerCornerHz, 0.001)),
            stepS,
          ),
        ),
      ),
    }));
    let draws = new Float64Array(0);

    return {
      addUv(channelsUv, start, count) {
        if (draws.length < count) draws = new Float64Array(count);
        for (let c = 0; c < CHANNEL_COUNT; c++) {
          const { white, flicker } = channels[c];
          fillGaussian(white, draws, count);
          const phase = flicker.advance(start, count);
          addLevelAndWhite(channelsUv[c], flicker.levels, phase, whiteUv, draws, count);
        }
      },
    };
  },
};

/** The sum of several slow processes. */
function flickerLevels(processes: readonly SlowProcess[]): SlowLevels {
  let one = new Float64Array(0);
  return slowLevels((levels, from, to) => {
    if (one.length < to) one = new Float64Array(to);
    levels.fill(0, from, to);
    for (const process of processes) {
      process.fill(one, from, to);
      for (let j = from; j < to; j++) levels[j] += one[j];
    }
  });
}

function addLevelAndWhite(
  out: Float64Array,
  levels: Float64Array,
  phase: number,
  whiteUv: number,
  draws: Float64Array,
  count: number,
): void {
  for (let i = 0; i < count; i++) out[i] += levels[(phase + i) >> SLOW_STEP_SHIFT] + whiteUv * draws[i];
}
