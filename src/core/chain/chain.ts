import { CHANNEL_COUNT } from '../noise/noiseSource.ts';
import type { Scenario } from '../scenario/schema.ts';
import { coupledInput } from './coupledInput.ts';
import { butterworth, coupling, filterCascade, notch, type Section } from './filters.ts';
import { type FrontEnd, frontEnd } from './frontEnd.ts';

/** The recording chain of both channels. */
export interface Chain {
  /** Carries what the electrodes pick up through the whole chain, in place, µV. */
  recordUv(channelsUv: readonly Float64Array[], start: number, count: number): void;
  /** Carries the noise-free response through the linear part of the same chain, in place, µV. */
  truthUv(channelsUv: readonly Float64Array[], count: number): void;
  /** True if the channel was over-range, guard time included, anywhere in samples [from, to). */
  flagged(channel: number, from: number, to: number): boolean;
  forgetBefore(sample: number): void;
}

/** The digital filters of a scenario, in the order in which they run. */
export function digitalFilters(scenario: Scenario): Section[] {
  const { highPassHz, highPassOrder, lowPassHz, lowPassOrder, notchHz, notchQ } = scenario.filter;
  const { sampleRateHz } = scenario.converter;
  return [
    ...butterworth('high-pass', highPassOrder, highPassHz, sampleRateHz),
    ...butterworth('low-pass', lowPassOrder, lowPassHz, sampleRateHz),
    ...(notchHz > 0 ? [notch(notchHz, notchQ, sampleRateHz)] : []),
  ];
}

/**
 * Makes the chain: input coupling → gain, saturation, recovery → converter → digital filters on the continuous signal.
 *
 * Truth takes the same path without saturation and rounding. Filters run before the sweeps are cut, so overlap of
 * responses, ringing and the smear of a clip are all there.
 */
export function recordingChain(scenario: Scenario): Chain {
  const input = coupling(scenario.amplifier.couplingHz, scenario.converter.sampleRateHz);
  const filters = digitalFilters(scenario);
  const coupled = coupledInput(input);
  const outputFilter = filterCascade(filters);
  const truthFilter = filterCascade([input, ...filters]);
  const stages: FrontEnd[] = Array.from({ length: CHANNEL_COUNT }, () => frontEnd(scenario));

  /** Couples and converts the start of a block, up to the first overload of a channel. Returns how much of it. */
  function convertCalmStart(channelsUv: readonly Float64Array[], count: number): number {
    if (!stages.every((stage) => stage.isCalm())) return 0;
    const calmCount = coupled.runCalm(stages[0].conversion, channelsUv[0], channelsUv[1], count);
    if (calmCount > 0) for (const stage of stages) stage.passCalm();
    return calmCount;
  }

  return {
    recordUv(channelsUv, start, count) {
      const calmCount = convertCalmStart(channelsUv, count);
      if (calmCount < count) {
        const rest = channelsUv.map((signalUv) => signalUv.subarray(calmCount, count));
        coupled.run(rest[0], rest[1], count - calmCount);
        for (let c = 0; c < CHANNEL_COUNT; c++) stages[c].run(rest[c], start + calmCount, count - calmCount);
      }
      outputFilter.run(channelsUv[0], channelsUv[1], count);
    },
    truthUv(channelsUv, count) {
      truthFilter.run(channelsUv[0], channelsUv[1], count);
    },
    flagged: (channel, from, to) => stages[channel].flagged(from, to),
    forgetBefore(sample) {
      for (const stage of stages) stage.forgetBefore(sample);
    },
  };
}
