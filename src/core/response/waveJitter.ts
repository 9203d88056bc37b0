import type { Scenario } from '../scenario/schema.ts';
import type { EvokedResponse } from './responseKind.ts';
import { type Channel, templateResponse } from './templateResponse.ts';
import { type Wave, wavesUv } from './waves.ts';

/** A response that is a sum of waves. */
export interface WavesShape {
  /** Time after the stimulus at which the response is over, ms. */
  endMs: number;
  /** The waves of one polarity in one channel: of the same names for each. */
  waves(polarity: 1 | -1, channel: Channel): Wave[];
  /** What is no wave of the nerve and does not jitter by itself, µV; left out where there is none. */
  rest?(polarity: 1 | -1, channel: Channel): (timeMs: number) => number;
  /** Standard deviation of the latency that comes on top of `response.latencyJitterMs`, ms. */
  extraJitterMs: number;
}

/**
 * Plays waves from sweep to sweep: together, and with `response.waveJitterMs` also against each other.
 *
 *     Δτ of wave w in sweep i = common_i + own_{w,i},   common ~ N(0, σ_j²), own ~ N(0, waveJitterMs²)
 *
 * Both channels see the same. Without a jitter of their own all waves are one template; with it each is one, and costs as
 * much. Streams: 'response/scatter' for what is common, 'response/wave' by wave.
 */
export function jitteredWaves(scenario: Scenario, seed: string, shape: WavesShape): EvokedResponse {
  const { endMs, waves, rest, extraJitterMs } = shape;
  const { waveJitterMs } = scenario.response;
  const none = () => 0;
  if (waveJitterMs === 0) {
    return templateResponse(scenario, seed, {
      endMs,
      extraJitterMs,
      curve(polarity, channel) {
        const all = waves(polarity, channel);
        const restUv = rest?.(polarity, channel) ?? none;
        return (timeMs) => wavesUv(all, timeMs) + restUv(timeMs);
      },
    });
  }
  const names = [...new Set(waves(1, 'ipsilateral').map(({ name }) => name))];
  const parts = names.map((name, index) =>
    templateResponse(scenario, seed, {
      endMs,
      extraJitterMs,
      ownJitter: { index, sdMs: waveJitterMs },
      curve(polarity, channel) {
        const one = waves(polarity, channel).filter((wave) => wave.name === name);
        return (timeMs) => wavesUv(one, timeMs);
      },
    }),
  );
  if (rest) parts.push(templateResponse(scenario, seed, { endMs, extraJitterMs, curve: rest }));
  return {
    present(presentation) {
      for (const part of parts) part.present(presentation);
    },
    addUv(channelsUv, start, count) {
      for (const part of parts) part.addUv(channelsUv, start, count);
    },
  };
}
