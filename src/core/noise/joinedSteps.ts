import { CHANNEL_COUNT, type PlayingNoise } from './noiseSource.ts';
import { SLOW_STEP_SAMPLES } from './slowLevels.ts';

/**
 * Plays a slow signal that is drawn every 32 samples and joined by straight lines.
 *
 * The steps belong to the recording, not to the block. Held instead of joined, the steps would be audible far above the
 * signal's own frequencies.
 *
 * @param draw - writes the values of both channels, µV, at the next step: first those of sample 0
 */
export function joinedSteps(draw: (valuesUv: Float64Array) => void): PlayingNoise {
  const nowUv = new Float64Array(CHANNEL_COUNT);
  const nextUv = new Float64Array(CHANNEL_COUNT);
  draw(nextUv);
  return {
    addUv(channelsUv, start, count) {
      for (let from = 0; from < count; ) {
        const phase = (start + from) % SLOW_STEP_SAMPLES;
        if (phase === 0) {
          nowUv.set(nextUv);
          draw(nextUv);
        }
        const to = Math.min(count, from + SLOW_STEP_SAMPLES - phase);
        for (let c = 0; c < CHANNEL_COUNT; c++) {
          const out = channelsUv[c];
          const value = nowUv[c];
          const slope = (nextUv[c] - value) / SLOW_STEP_SAMPLES;
          for (let i = from; i < to; i++) out[i] += value + slope * (phase + i - from);
        }
        from = to;
      }
    },
  };
}
