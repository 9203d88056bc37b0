import { CHANNEL_COUNT } from '../noise/noiseSource.ts';
import { nextUniform, stream } from '../random/stream.ts';
import type { Scenario } from '../scenario/schema.ts';
import { amplifierStage } from './amplifierStage.ts';
import { butterworth, filterCascade, type Section } from './filters.ts';
import { codesOf, MIN_RUN } from './frontEnd.ts';
import { overRange } from './overRange.ts';

const ANTI_ALIAS_ORDER = 4;
const ANTI_ALIAS_SHARE = 0.4; // of the sample rate; model value

/** The anti-alias filter of a scenario: a Butterworth low-pass of order 4 at 0.4 of the sample rate, or nothing. */
export function antiAliasFilter({ converter }: Pick<Scenario, 'converter'>): Section[] {
  const { antiAlias, sampleRateHz } = converter;
  return antiAlias ? butterworth('low-pass', ANTI_ALIAS_ORDER, ANTI_ALIAS_SHARE * sampleRateHz, sampleRateHz) : [];
}

/** Amplifier stages and converters of both channels, with something between them or added. */
export interface SplitFrontEnd {
  /** Turns coupled input into converted output in place, µV referred to the input, and marks over-range stretches. */
  run(channelsUv: readonly Float64Array[], start: number, count: number): void;
  flagged(channel: number, from: number, to: number): boolean;
  forgetBefore(sample: number): void;
}

/**
 * Makes the front end for scenarios with an anti-alias filter or dither.
 *
 *     stage → anti-alias filter → code = round(v_f/LSB + d),   d triangular on −1 … 1 (dither) or 0
 *
 * The filter smooths what a saturated stage puts out, so an over-range is also counted where the stage itself has been at
 * its rail for three samples. Dither makes the error of rounding white and independent of the signal, at three times its
 * power. Stream: 'converter/dither', by channel.
 */
export function splitFrontEnd(scenario: Scenario, seed: string): SplitFrontEnd {
  const { rangeUv } = scenario.amplifier;
  const { sampleRateHz, guardMs, dither } = scenario.converter;
  const guard = Math.round((guardMs * sampleRateHz) / 1000);
  const codes = codesOf(scenario);
  const lsbUv = rangeUv / codes;
  const filter = filterCascade(antiAliasFilter(scenario));
  const channels = Array.from({ length: CHANNEL_COUNT }, (_, channel) => ({
    stage: amplifierStage(scenario),
    draws: stream(seed, 'converter/dither', channel),
    stageFlags: overRange(),
    codeFlags: overRange(),
    runCount: 0,
  }));
  return {
    run(channelsUv, start, count) {
      for (const [c, { stage, stageFlags }] of channels.entries()) {
        const signalUv = channelsUv[c];
        for (let i = 0; i < count; i++) {
          signalUv[i] = stage.next(signalUv[i]);
          const railed = stage.railedCount();
          if (railed >= MIN_RUN) stageFlags.add(start + i + 1 - Math.min(railed, MIN_RUN), start + i + 1 + guard);
        }
      }
      filter.run(channelsUv[0], channelsUv[1], count);
      for (const [c, channel] of channels.entries()) {
        const signalUv = channelsUv[c];
        for (let i = 0; i < count; i++) {
          const added = dither ? nextUniform(channel.draws) - nextUniform(channel.draws) : 0;
          const code = Math.max(-codes, Math.min(codes - 1, Math.floor(signalUv[i] / lsbUv + added + 0.5)));
          channel.runCount = code >= codes - 2 || code <= 1 - codes ? channel.runCount + 1 : 0;
          if (channel.runCount >= MIN_RUN) {
            channel.codeFlags.add(start + i + 1 - channel.runCount, start + i + 1 + guard);
          }
          signalUv[i] = code * lsbUv;
        }
      }
    },
    flagged(channel, from, to) {
      const { stageFlags, codeFlags } = channels[channel];
      return stageFlags.touches(from, to) || codeFlags.touches(from, to);
    },
    forgetBefore(sample) {
      for (const { stageFlags, codeFlags } of channels) {
        stageFlags.forgetBefore(sample);
        codeFlags.forgetBefore(sample);
      }
    },
  };
}
