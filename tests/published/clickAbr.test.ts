import { describe, expect, it } from 'vitest';
import { clickAbrWaves } from '../../src/core/response/clickAbr.ts';
import { wavesUv } from '../../src/core/response/waves.ts';

/** Latency of the highest peak between two times, ms, on a grid of 1 µs. */
function peakMs(levelDbNhl: number, ratePerS: number, fromMs: number, toMs: number): number {
  const waves = clickAbrWaves(levelDbNhl, ratePerS, 1, 'ipsilateral');
  let best = fromMs;
  for (let t = fromMs; t <= toMs; t += 0.001) if (wavesUv(waves, t) > wavesUv(waves, best)) best = t;
  return best;
}

describe('C01: click rate and wave V', () => {
  // Source: Don, Allen & Starr 1977, Ann. Otol. Rhinol. Laryngol. 86 (abstract read; journal from memory): six normal
  // ears, mean shift of component V about 0.5 ms between 10 and 100 clicks/s. Read as 0.5 within its last digit.
  it('moves the wave V component by 0.5 ms from 10 to 100/s', () => {
    const latency = (ratePerS: number) =>
      clickAbrWaves(75, ratePerS, 1, 'ipsilateral').find((wave) => wave.name === 'V')?.latencyMs ?? Number.NaN;
    expect(Math.abs(latency(100) - latency(10) - 0.5)).toBeLessThan(0.05);
  });

  it('moves the peak that a reader marks by as much', () => {
    const shiftMs = peakMs(75, 100, 5, 8) - peakMs(75, 10, 5, 8);
    expect(Math.abs(shiftMs - 0.5)).toBeLessThan(0.1);
  });
});
