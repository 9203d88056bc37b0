import { describe, expect, it } from 'vitest';
import { switching } from '../../../src/core/noise/switching.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { playNoise } from './playNoise.ts';

const RATE = 16000;

/** Samples at which something begins after 30 ms of silence. */
function onsets(signal: Float64Array): number[] {
  const found: number[] = [];
  let quietFrom = 0;
  for (const [i, value] of signal.entries()) {
    if (Math.abs(value) < 0.5) continue;
    if (i - quietFrom > 0.03 * RATE) found.push(i);
    quietFrom = i;
  }
  return found;
}

describe('switching', () => {
  it('is absent unless something is switched', () => {
    expect(switching.create(resolveScenario({}), '7')).toBeNull();
    expect(switching.create(resolveScenario({ room: { switchingsPerS: 1, switchingUv: 0 } }), '7')).toBeNull();
  });

  it('happens as often as told, over in 30 ms, 0.8 as large on the other side', () => {
    const [here, there] = playNoise(switching, { room: { switchingsPerS: 0.5, switchingUv: 100 } }, 400 * RATE);
    const found = onsets(here);
    expect(Math.abs(found.length - 200)).toBeLessThan(4 * Math.sqrt(200));
    for (const onset of found.slice(0, 20)) {
      const after = here.subarray(onset + 0.03 * RATE, onset + 0.04 * RATE);
      const late = Math.max(...after.map(Math.abs));
      if (!found.some((other) => other > onset && other < onset + 0.04 * RATE)) expect(late).toBeLessThan(0.5);
    }
    for (let i = 0; i < here.length; i += 97) expect(there[i]).toBeCloseTo(0.8 * here[i], 9);
  });

  it('has the median size told: 4 standard errors of a log-normal', () => {
    const [small] = playNoise(switching, { room: { switchingsPerS: 0.5, switchingUv: 100 } }, 400 * RATE);
    const peaks = onsets(small)
      .map((onset) => Math.max(...small.subarray(onset, onset + 100).map(Math.abs)))
      .sort((a, b) => a - b);
    // The first crest of a ringing of 600 Hz that fades with 3 ms is at 0.87 of the full size.
    const crest = Math.exp(-1 / (4 * 600 * 0.003));
    const gap = Math.log(peaks[peaks.length >> 1] / (100 * crest));
    expect(Math.abs(gap)).toBeLessThan((4 * 1.253 * 0.55) / Math.sqrt(peaks.length));
  });
});
