import { describe, expect, it } from 'vitest';
import { clipReach, digitalFilters, runningFilter } from '../../../src/core/chain/digitalFilters.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';

describe('digitalFilters', () => {
  const cases = [
    // filter section, number of second-order sections, why
    [{}, 2, 'high-pass and low-pass of order 2'],
    [{ notchHz: 50 }, 3, 'and a notch'],
    [{ highPassOrder: 3, lowPassOrder: 8 }, 6, '2 + 4'],
    [{ highPassOrder: 1, lowPassOrder: 1, notchHz: 60 }, 3, 'one each'],
  ] as const;
  it.each(cases)('%j: %d sections', (filter, expected, why) => {
    expect(digitalFilters(resolveScenario({ filter })), why).toHaveLength(expected);
  });
});

describe('runningFilter', () => {
  const peakOf = (filter: object) => {
    const scenario = resolveScenario({ filter });
    const { run, delaySampleCount } = runningFilter(scenario, []);
    const signal = new Float64Array(40_000);
    signal[20_000] = 1;
    run(signal, new Float64Array(40_000), 40_000);
    let peak = 0;
    for (let i = 0; i < signal.length; i++) if (signal[i] > signal[peak]) peak = i;
    return peak - delaySampleCount - 20_000;
  };

  it('zero-phase leaves a peak where it is, once its delay is taken off; causal does not', () => {
    expect(peakOf({ phase: 'zero-phase' })).toBe(0);
    expect(peakOf({ phase: 'zero-phase', family: 'bessel', lowPassOrder: 4 })).toBe(0);
    expect(peakOf({ phase: 'causal' })).toBeGreaterThan(0);
  });

  it('causal waits for nothing', () => {
    expect(runningFilter(resolveScenario({}), []).delaySampleCount).toBe(0);
  });

  it('the notch stays causal and is there', () => {
    const scenario = resolveScenario({ filter: { phase: 'zero-phase', notchHz: 200, notchQ: 10 } });
    const { run } = runningFilter(scenario, []);
    const tone = Float64Array.from({ length: 48_000 }, (_, i) => Math.sin((2 * Math.PI * 200 * i) / 16000));
    run(tone, new Float64Array(48_000), 48_000);
    expect(Math.max(...tone.subarray(40_000).map(Math.abs))).toBeLessThan(1e-6);
  });
});

describe('clipReach', () => {
  it('is how far a step is felt: longer for a lower high-pass, backwards too in zero-phase', () => {
    const [usual, slow, both] = [{}, { highPassHz: 10 }, { phase: 'zero-phase' }].map((filter) =>
      clipReach(resolveScenario({ filter })),
    );
    // 100 Hz of order 2: e^(−4.44·t) with t in ms … the 1 % is reached within two to three periods of 100 Hz.
    expect(usual.later / 16).toBeGreaterThan(5);
    expect(usual.later / 16).toBeLessThan(20);
    expect(usual.earlier).toBe(0);
    expect(slow.later / usual.later).toBeGreaterThan(8);
    expect(both).toEqual({ later: usual.later, earlier: usual.later });
  });
});
