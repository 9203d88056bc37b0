import { describe, expect, it } from 'vitest';
import { diathermy } from '../../../src/core/noise/diathermy.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { startSession } from '../../../src/core/session/session.ts';
import { mean, rms } from '../sampleStatistics.ts';
import { playNoise } from './playNoise.ts';

const RATE = 4000;
const document = { converter: { sampleRateHz: RATE }, diathermy: { burstsPerS: 0.05 } };

describe('diathermy', () => {
  const [here, there] = playNoise(diathermy, document, 4000 * RATE);
  const uses: [number, number][] = [];
  let from = -1;
  let lastLoud = -RATE;
  for (let i = 0; i < here.length; i++) {
    if (Math.abs(here[i]) < 100) continue;
    if (i - lastLoud > 0.2 * RATE) {
      if (from >= 0) uses.push([from, lastLoud]);
      from = i;
    }
    lastLoud = i;
  }

  it('is in use for 1 to 5 s, about three times a minute', () => {
    // Pauses are exponential with mean 20 s, uses uniform with mean 3 s: 4000 s hold 174 cycles of SD 20 s.
    expect(Math.abs(uses.length - 4000 / 23)).toBeLessThan(4 * Math.sqrt(174) * (20 / 23));
    const lengths = uses.map(([first, last]) => (last - first) / RATE);
    // Two uses less than 0.2 s apart are counted as one: 1 % of them.
    expect(lengths.filter((lengthS) => lengthS > 5.2).length).toBeLessThan(0.03 * lengths.length);
    expect(Math.abs(mean(lengths) - 3)).toBeLessThan(4 * Math.sqrt(16 / 12 / lengths.length) + 0.05);
  });

  it('has sparks of 10 mV and the power of a shot process', () => {
    // Σ of sparks: power = rate·E[size²]·τ/2; E[size²] = 10 mV²·e^(2·0.5²). Sampled decay: Σ fade^(2n) = 1/(1 − fade²).
    const fade = Math.exp(-1 / (0.3e-3 * RATE));
    const expected = (300 / RATE) * 1e8 * Math.exp(0.5) * (1 / (1 - fade * fade));
    const powers = uses.map(([first, last]) => rms(here.subarray(first, last)) ** 2);
    expect(Math.abs(mean(powers) / expected - 1)).toBeLessThan(0.1); // 170 uses of 900 heavy-tailed sparks: 1 % each way
    for (let i = 0; i < 10 * RATE; i++) expect(there[i]).toBeCloseTo(0.7 * here[i], 6);
  });

  it('drives any amplifier for a response into its rails, and the sweeps are flagged', () => {
    const session = startSession(resolveScenario({ diathermy: { burstsPerS: 1 }, session: { durationS: 20 } }), '3');
    let flaggedCount = 0;
    for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) if (sweep.overRange[0]) flaggedCount++;
    expect(flaggedCount / session.sweepCount).toBeGreaterThan(0.4); // in use three quarters of the time
  });
});
