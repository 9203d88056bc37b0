import { describe, expect, it } from 'vitest';
import { ornsteinUhlenbeck } from '../../../src/core/random/ornsteinUhlenbeck.ts';
import { stream } from '../../../src/core/random/stream.ts';
import { correlation, mean, standardDeviation } from '../sampleStatistics.ts';

const SD = 3;
const MEMORY_S = 2;

function path(seed: string, stepS: number, count: number): Float64Array {
  const process = ornsteinUhlenbeck(stream(seed, 'test/wander'), SD, MEMORY_S, stepS);
  return Float64Array.from({ length: count }, () => process.next());
}

describe('ornsteinUhlenbeck', () => {
  // Over a time T the mean of a process of memory m is worth T/2m independent numbers, its variance T/m of them.
  it.each([[0.1], [0.5], [2]])('has the same law at a step of %d s: mean, spread, memory', (stepS) => {
    const durationS = 40_000;
    const values = path('11', stepS, durationS / stepS);
    const step = Math.exp(-stepS / MEMORY_S);
    const independent = (durationS / stepS) * ((1 - step) / (1 + step)); // AR(1): exact for the mean
    expect(Math.abs(mean(values))).toBeLessThan((4 * SD) / Math.sqrt(independent));
    const forVariance = (durationS / stepS) * ((1 - step * step) / (1 + step * step));
    expect(Math.abs(standardDeviation(values) - SD)).toBeLessThan((4 * SD) / Math.sqrt(2 * forVariance));
    const afterMemory = correlation(values, values, Math.round(MEMORY_S / stepS));
    expect(Math.abs(afterMemory - Math.exp(-1))).toBeLessThan(4 / Math.sqrt(independent));
  });

  it('starts in its stationary state: spread of the first value over 4000 seeds, 4 standard errors', () => {
    const firsts = Array.from({ length: 4000 }, (_, k) => path(String(k), 0.01, 1)[0]);
    expect(Math.abs(mean(firsts))).toBeLessThan((4 * SD) / Math.sqrt(4000));
    expect(Math.abs(standardDeviation(firsts) - SD)).toBeLessThan((4 * SD) / Math.sqrt(8000));
  });

  it('keeps its spread when steps are far longer than its memory', () => {
    const values = path('12', 100, 20_000);
    expect(Math.abs(standardDeviation(values) - SD)).toBeLessThan((4 * SD) / Math.sqrt(40_000));
    expect(Math.abs(correlation(values, values, 1))).toBeLessThan(4 / Math.sqrt(20_000));
  });

  it('fills what single steps give, wherever it is told to', () => {
    const single = path('13', 0.5, 300);
    const process = ornsteinUhlenbeck(stream('13', 'test/wander'), SD, MEMORY_S, 0.5);
    const filled = new Float64Array(300);
    expect(process.next()).toBe(single[0]);
    process.fill(filled, 1, 38);
    expect(filled[0] + filled[38], 'nothing outside').toBe(0);
    process.fill(filled, 38, 299);
    expect(filled.subarray(1, 299)).toEqual(single.subarray(1, 299));
    expect(process.next()).toBe(single[299]);
  });

  it('stays at 0 without spread', () => {
    const process = ornsteinUhlenbeck(stream('7', 'n'), 0, 1, 0.1);
    expect([process.next(), process.next(), process.next()].map((value) => value + 0)).toEqual([0, 0, 0]);
  });

  it('only scales with the standard deviation: the same wander, larger', () => {
    const small = ornsteinUhlenbeck(stream('7', 'n'), 1, 1, 0.1);
    const large = ornsteinUhlenbeck(stream('7', 'n'), 4, 1, 0.1);
    for (let k = 0; k < 100; k++) expect(large.next()).toBe(4 * small.next());
  });
});
