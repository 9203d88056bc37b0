import { CHANNEL_COUNT } from '../noise/noiseSource.ts';
import type { Scenario } from '../scenario/schema.ts';
import { coupledInput } from './coupledInput.ts';
import { clipReach, runningFilter } from './digitalFilters.ts';
import { coupling, filterCascade, type Section } from './filters.ts';
import { type FrontEnd, frontEnd } from './frontEnd.ts';
import { antiAliasFilter, type SplitFrontEnd, splitFrontEnd } from './splitFrontEnd.ts';

/** The recording chain of both channels. */
export interface Chain {
  /** What comes out belongs to the sample this many before: what a zero-phase filter has to wait for. */
  readonly delaySampleCount: number;
  /** Carries what the electrodes pick up through the whole chain, in place, µV. */
  recordUv(channelsUv: readonly Float64Array[], start: number, count: number): void;
  /** Carries the noise-free response through the linear part of the same chain, in place, µV. */
  truthUv(channelsUv: readonly Float64Array[], count: number): void;
  /**
   * True if the channel was over-range, guard time included, anywhere in samples [from, to) of the true time; with
   * `converter.guardFilters` also if a filter carries such a stretch into them.
   */
  flagged(channel: number, from: number, to: number): boolean;
  forgetBefore(sample: number): void;
}

/**
 * Makes the chain: input coupling → gain, saturation, recovery → (anti-alias filter) → converter → digital filters on
 * the continuous signal.
 *
 * Truth takes the same path without saturation and rounding. Filters run before the sweeps are cut, so overlap of
 * responses, ringing and the smear of a clip are all there.
 *
 * @param seed - of the dither, the only thing in the chain that is left to chance
 */
export function recordingChain(scenario: Scenario, seed = ''): Chain {
  const { antiAlias, dither, guardFilters } = scenario.converter;
  const input = coupling(scenario.amplifier.couplingHz, scenario.converter.sampleRateHz);
  const outputFilter = runningFilter(scenario, []);
  const truthFilter = runningFilter(scenario, [input, ...antiAliasFilter(scenario)]);
  const conversion = antiAlias || dither ? splitConversion(scenario, input, seed) : plainConversion(scenario, input);
  const reach = guardFilters ? clipReach(scenario) : { later: 0, earlier: 0 };
  return {
    delaySampleCount: outputFilter.delaySampleCount,
    recordUv(channelsUv, start, count) {
      conversion.run(channelsUv, start, count);
      outputFilter.run(channelsUv[0], channelsUv[1], count);
    },
    truthUv(channelsUv, count) {
      truthFilter.run(channelsUv[0], channelsUv[1], count);
    },
    flagged: (channel, from, to) => conversion.flagged(channel, from - reach.later, to + reach.earlier),
    forgetBefore: (sample) => conversion.forgetBefore(sample - reach.later),
  };
}

/** Coupling, stage and converter; most of it in one loop. */
function plainConversion(scenario: Scenario, input: Section): SplitFrontEnd {
  const coupled = coupledInput(input);
  const stages: FrontEnd[] = Array.from({ length: CHANNEL_COUNT }, () => frontEnd(scenario));

  /** Couples and converts the start of a block, up to the first overload of a channel. Returns how much of it. */
  function convertCalmStart(channelsUv: readonly Float64Array[], count: number): number {
    if (!stages.every((stage) => stage.isCalm())) return 0;
    const calmCount = coupled.runCalm(stages[0].conversion, channelsUv[0], channelsUv[1], count);
    if (calmCount > 0) for (const stage of stages) stage.passCalm();
    return calmCount;
  }

  return {
    run(channelsUv, start, count) {
      const calmCount = convertCalmStart(channelsUv, count);
      if (calmCount === count) return;
      const rest = channelsUv.map((signalUv) => signalUv.subarray(calmCount, count));
      coupled.run(rest[0], rest[1], count - calmCount);
      for (let c = 0; c < CHANNEL_COUNT; c++) stages[c].run(rest[c], start + calmCount, count - calmCount);
    },
    flagged: (channel, from, to) => stages[channel].flagged(from, to),
    forgetBefore(sample) {
      for (const stage of stages) stage.forgetBefore(sample);
    },
  };
}

/** The same with an anti-alias filter or dither. */
function splitConversion(scenario: Scenario, input: Section, seed: string): SplitFrontEnd {
  const coupled = filterCascade([input]);
  const split = splitFrontEnd(scenario, seed);
  return {
    ...split,
    run(channelsUv, start, count) {
      coupled.run(channelsUv[0], channelsUv[1], count);
      split.run(channelsUv, start, count);
    },
  };
}
