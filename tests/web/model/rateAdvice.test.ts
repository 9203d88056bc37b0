import { describe, expect, it } from 'vitest';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import {
  advisedRates,
  harmonicDistance,
  lockDistances,
  overlapShare,
  rateBounds,
  wanderTurns,
} from '../../../src/web/model/rateAdvice.ts';

describe('lockDistances', () => {
  const cases = [
    // rate, line, whole, one polarity, why
    [25, 50, 0, 0, 'divides the supply'],
    [100 / 3, 50, 0, 0, 'every second harmonic falls on a whole turn'],
    [40, 50, 0, 0, 'the fourth harmonic is five turns'],
    [27.7, 50, 0.0253, 0.0505, 'by hand: harmonic 5 is 250/27.7 = 9.0253 turns, and twice that at half the rate'],
  ] as const;
  it.each(cases)('%d/s at %d Hz: %d and %d turns (%s)', (rate, line, whole, polarity) => {
    const distances = lockDistances(rate, line);
    expect(distances[0]).toBeCloseTo(whole, 4);
    expect(distances[1]).toBeCloseTo(polarity, 4);
    expect(distances).toHaveLength(3);
  });

  it('knows a single harmonic', () => {
    expect(harmonicDistance(27.7, 50, 5)).toBeCloseTo(0.0253, 4);
  });
});

describe('advisedRates', () => {
  const scenario = resolveScenario({ stimulus: { ratePerS: 25 } });

  it('finds rates near by that keep clear of every lock, for whole average and one polarity', () => {
    const advised = advisedRates(scenario, 50);
    expect(advised).toHaveLength(4);
    for (const { ratePerS, distance } of advised) {
      expect(distance).toBe(Math.min(...lockDistances(ratePerS, 50).slice(0, 2)));
      expect(distance).toBeGreaterThan(0.05);
      expect(Math.abs(ratePerS / 25 - 1)).toBeLessThanOrEqual(0.15);
    }
    expect(advised[0].distance).toBeGreaterThanOrEqual(advised[3].distance);
  });

  it('never advises a rate whose interval the window does not fit', () => {
    const fast = resolveScenario({ stimulus: { ratePerS: 64 } });
    for (const { ratePerS } of advisedRates(fast, 60)) expect(ratePerS).toBeLessThanOrEqual(1000 / 15);
    expect(rateBounds(fast).to).toBeLessThanOrEqual(1000 / 15);
  });

  it('knows wander and overlap', () => {
    expect(wanderTurns(scenario)).toBeCloseTo((7 * 0.02) / 25, 12);
    expect(overlapShare(scenario)).toBeCloseTo((scenario.window.analysisToMs * 25) / 1000, 12);
  });
});
