import type { Scenario } from '../../core/scenario/schema.ts';
import { lockDistance } from '../../core/stimulus/lockDistance.ts';

/** Harmonics that the map shows: beyond the seventh a supply has little left. */
export const HARMONICS = 7;
/** Turns from a lock under which a rate is called locked: model of practice, our choice. */
export const LOCKED = 0.03;

/** The traces that one recording is averaged into, each with how many stimuli apart its sweeps are. */
export const traces = [
  { name: 'whole average', every: 1 },
  { name: 'one polarity', every: 2 },
  { name: 'split buffers', every: 4 },
] as const;

/** How far a rate keeps from locking with the supply, for the whole average, one polarity and the split buffers, in turns. */
export function lockDistances(ratePerS: number, lineHz: number): number[] {
  return traces.map(({ every }) => lockDistance(ratePerS / every, lineHz, HARMONICS));
}

/** How far one harmonic keeps from locking, in turns 0 … ½. */
export function harmonicDistance(ratePerS: number, lineHz: number, harmonic: number): number {
  const turns = (harmonic * lineHz) / ratePerS;
  return Math.abs(turns - Math.round(turns));
}

/** Rates that a scenario can have: its window has to fit the interval, jitter included. */
export function rateBounds({ window, stimulus }: Scenario): { from: number; to: number } {
  const fits = 1000 / Math.max(window.postMs, 2 * stimulus.jitterMs * 1.001);
  const to = Math.floor(10 * Math.min(fits, 4 * stimulus.ratePerS)) / 10;
  return { from: Math.max(0.2, Math.floor(stimulus.ratePerS * 4) / 10), to };
}

/** A rate with what speaks for it. */
export interface AdvisedRate {
  ratePerS: number;
  /** Turns from the nearest lock of the whole average and of one polarity: the smaller of the two. */
  distance: number;
}

/**
 * Rates near the present one that keep farthest from a lock, best first, at least 2 % apart.
 *
 * Judged by the whole average and by one polarity, harmonics 1 to 7. No rate keeps far from all: with seven harmonics and
 * half rates a tenth of a turn is already good.
 *
 * @param reach - how far from the present rate to look, as a share of it
 */
export function advisedRates(scenario: Scenario, lineHz: number, reach = 0.15, count = 4): AdvisedRate[] {
  const { ratePerS } = scenario.stimulus;
  const { from, to } = rateBounds(scenario);
  const step = ratePerS < 5 ? 0.01 : 0.1;
  const candidates: AdvisedRate[] = [];
  for (let k = Math.ceil((ratePerS * (1 - reach)) / step); k <= (ratePerS * (1 + reach)) / step; k++) {
    const rate = Number((k * step).toFixed(2));
    if (!(rate >= from && rate <= to)) continue;
    const [whole, polarity] = lockDistances(rate, lineHz);
    candidates.push({ ratePerS: rate, distance: Math.min(whole, polarity) });
  }
  candidates.sort(
    (a, b) => b.distance - a.distance || Math.abs(a.ratePerS - ratePerS) - Math.abs(b.ratePerS - ratePerS),
  );
  const chosen: AdvisedRate[] = [];
  for (const candidate of candidates) {
    if (chosen.length === count) break;
    const near = chosen.some((other) => Math.abs(other.ratePerS / candidate.ratePerS - 1) < 0.02);
    if (!near) chosen.push(candidate);
  }
  return chosen;
}

/** By how many turns from sweep to sweep a wander of the supply moves its seventh harmonic, ±. */
export function wanderTurns({ mains, stimulus }: Scenario): number {
  return (HARMONICS * mains.wanderHz) / stimulus.ratePerS;
}

/** Share of the interval between stimuli that the end of the analysis takes: from 1 on answers overlap. */
export function overlapShare({ window, stimulus }: Scenario): number {
  return (window.analysisToMs * stimulus.ratePerS) / 1000;
}
