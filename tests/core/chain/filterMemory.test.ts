import { describe, expect, it } from 'vitest';
import { bessel } from '../../../src/core/chain/bessel.ts';
import { settlingSampleCount, stepMemorySampleCount } from '../../../src/core/chain/filterMemory.ts';
import { butterworth, filterCascade, notch, type Section } from '../../../src/core/chain/filters.ts';

const RATE = 16000;
const cascades: [string, Section[]][] = [
  ['default band', [...butterworth('high-pass', 2, 100, RATE), ...butterworth('low-pass', 2, 1500, RATE)]],
  ['steep band', [...butterworth('high-pass', 8, 100, RATE), ...butterworth('low-pass', 8, 1500, RATE)]],
  ['slow first order', butterworth('high-pass', 1, 1, RATE)],
  ['Bessel, equal corners', [...bessel('high-pass', 8, 200, RATE), ...bessel('high-pass', 8, 200, RATE)]],
  ['notch', [notch(50, 30, RATE)]],
];

describe('settlingSampleCount', () => {
  it.each(cascades)('%s: beyond it, less than the share of what the impulse left at most', (_name, sections) => {
    for (const share of [1e-3, 1e-8]) {
      const settled = settlingSampleCount(sections, share);
      const impulse = new Float64Array(3 * settled);
      impulse[0] = 1;
      filterCascade(sections).run(impulse, new Float64Array(impulse.length), impulse.length);
      const left = impulse.subarray(settled).reduce((most, value) => Math.max(most, Math.abs(value)), 0);
      expect(left).toBeLessThan(share);
    }
  });

  it('refuses what never fades', () => {
    const integrator = { b0: 1, b1: 0, b2: 0, a1: -1, a2: 0 };
    expect(() => settlingSampleCount([integrator], 0.1)).toThrow('poles must lie within the unit circle, got 1');
  });
});

describe('stepMemorySampleCount', () => {
  it('a first-order high-pass: ln 100 time constants', () => {
    const samples = stepMemorySampleCount(butterworth('high-pass', 1, 10, RATE));
    const expected = (Math.log(100) / (2 * Math.PI * 10)) * RATE;
    expect(Math.abs(samples - expected)).toBeLessThan(0.01 * expected);
  });

  it.each(cascades)('%s: the step is within 1 % from there on, and not just before', (_name, sections) => {
    const memory = stepMemorySampleCount(sections);
    const step = new Float64Array(memory + 40_000).fill(1);
    filterCascade(sections).run(step, new Float64Array(step.length), step.length);
    const end = step[step.length - 1];
    for (let i = memory; i < step.length; i += 7) expect(Math.abs(step[i] - end)).toBeLessThan(0.0101);
    if (memory > 1) expect(Math.abs(step[memory - 1] - end)).toBeGreaterThan(0.0098);
  });
});
