import { describe, expect, it } from 'vitest';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { hasSilences, sessionEndS, sweepFrom } from '../../../src/web/model/sessionClock.ts';

const at10 = { session: { durationS: 20 }, stimulus: { ratePerS: 10 }, window: { preMs: 5, postMs: 15 } };
const cases = [
  // scenario, end, sweep from 12 s on, why
  [at10, 20, 120, 'steady: ten a second'],
  [{ ...at10, events: [{ atS: 5, pauseS: 4 }] }, 24, 80, 'a pause of 4 s from second 5 on'],
  [
    { ...at10, stimulus: { ratePerS: 10, trainS: 5, restS: 3 } },
    29,
    90,
    'three rests of 3 s; 12 s is in the second train',
  ],
] as const;

describe('sessionClock', () => {
  it.each(cases)('%j ends at %d s', (document, endS, sweep, why) => {
    const scenario = resolveScenario(document);
    expect(sessionEndS(scenario), why).toBeCloseTo(endS, 9);
    expect(hasSilences(scenario)).toBe(endS > 20);
    expect(sweepFrom(scenario, 12), why).toBe(sweep);
    expect(sweepFrom(scenario, 0)).toBe(0);
    expect(sweepFrom(scenario, 1000)).toBe(200);
  });
});
