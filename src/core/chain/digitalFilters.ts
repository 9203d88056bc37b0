import type { Scenario } from '../scenario/schema.ts';
import { bessel } from './bessel.ts';
import { stepMemorySampleCount } from './filterMemory.ts';
import { butterworth, filterCascade, notch, type Section } from './filters.ts';
import { type DelayedFilter, zeroPhaseStream } from './zeroPhaseStream.ts';

type FilterSettings = Pick<Scenario, 'filter' | 'converter'>;

/** High-pass and low-pass of a scenario, one pass of them. */
function bandFilters({ filter, converter }: FilterSettings): Section[] {
  const { family, highPassHz, highPassOrder, lowPassHz, lowPassOrder } = filter;
  const design = family === 'bessel' ? bessel : butterworth;
  return [
    ...design('high-pass', highPassOrder, highPassHz, converter.sampleRateHz),
    ...design('low-pass', lowPassOrder, lowPassHz, converter.sampleRateHz),
  ];
}

function notchFilters({ filter, converter }: FilterSettings): Section[] {
  return filter.notchHz > 0 ? [notch(filter.notchHz, filter.notchQ, converter.sampleRateHz)] : [];
}

/** The digital filters of a scenario as they run forwards, in order: high-pass, low-pass, notch. */
export function digitalFilters(scenario: FilterSettings): Section[] {
  return [...bandFilters(scenario), ...notchFilters(scenario)];
}

/**
 * Makes the running digital filters of both channels.
 *
 * Zero-phase applies to high-pass and low-pass; the notch stays causal and runs first. Both directions together have
 * twice the order and −6 dB at the corners.
 *
 * @param before - sections that the signal has to go through first   @returns the filter and its delay: 0 if causal
 */
export function runningFilter(scenario: FilterSettings, before: readonly Section[]): DelayedFilter {
  if (scenario.filter.phase === 'causal') {
    return { delaySampleCount: 0, ...filterCascade([...before, ...digitalFilters(scenario)]) };
  }
  const first = [...before, ...notchFilters(scenario)];
  const causal = first.length > 0 ? filterCascade(first) : null;
  const band = zeroPhaseStream(bandFilters(scenario));
  return {
    delaySampleCount: band.delaySampleCount,
    run(signal0, signal1, count) {
      causal?.run(signal0, signal1, count);
      band.run(signal0, signal1, count);
    },
  };
}

/**
 * Tells how far the digital filters carry a clip: samples by which it reaches later and, in zero-phase, earlier ones.
 *
 * @see stepMemorySampleCount for what counts as carried
 */
export function clipReach(scenario: FilterSettings): { later: number; earlier: number } {
  const later = stepMemorySampleCount(digitalFilters(scenario));
  const backwards = scenario.filter.phase === 'zero-phase';
  return { later, earlier: backwards ? stepMemorySampleCount(bandFilters(scenario)) : 0 };
}
