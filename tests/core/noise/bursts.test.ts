import { describe, expect, it } from 'vitest';
import { brow } from '../../../src/core/noise/brow.ts';
import { channelGain } from '../../../src/core/noise/electrodeSite.ts';
import { movement } from '../../../src/core/noise/movement.ts';
import { resonance } from '../../../src/core/noise/resonance.ts';
import { sucking } from '../../../src/core/noise/sucking.ts';
import { swallow } from '../../../src/core/noise/swallow.ts';
import { stream } from '../../../src/core/random/stream.ts';
import { bandPowers, integrate } from '../powerSpectrum.ts';
import { mean, rms, standardDeviation } from '../sampleStatistics.ts';
import { playNoise } from './playNoise.ts';

const SAMPLE_RATE_HZ = 1000;
const slow = { converter: { sampleRateHz: SAMPLE_RATE_HZ }, filter: { lowPassHz: 400 } };

/** One burst without end: what remains is carrier, size and gain. */
const endless = { burstsPerS: 5, durationS: 60, durationLogSd: 2, burstLogSd: 0 };

/** Onset samples of stretches that are not silent. */
function onsets(trace: Float64Array): number[] {
  const found: number[] = [];
  for (let i = 1; i < trace.length; i++) if (trace[i] !== 0 && trace[i - 1] === 0) found.push(i - 1);
  return found;
}

describe('resonance', () => {
  it('has variance 1, and half its power within its width: a line of Lorentz', () => {
    const draws = resonance(stream('1', 'test/rhythm'), 30, 6, SAMPLE_RATE_HZ);
    const values = new Float64Array(500_000);
    draws.fill(values, values.length);
    // Correlation time 1/(π·6 Hz) = 53 ms: 500 s hold 9400 independent pieces, so 4 standard errors of the power are 6 %.
    expect(Math.abs(mean(values.map((value) => value * value)) - 1)).toBeLessThan(0.06);
    const [inside] = bandPowers(values, SAMPLE_RATE_HZ, 4096, [[27, 33]]);
    expect(Math.abs(inside.power - 0.5)).toBeLessThan(4 * inside.standardError + 0.02); // 0.02: width of a bin
  });
});

describe('brow', () => {
  const [here] = playNoise(brow, { ...slow, brow: { ...endless, burstUv: 10 } }, 400_000);
  const [plain] = playNoise(brow, { ...slow, brow: { ...endless, burstUv: 10, rhythmShare: 0 } }, 400_000);

  it('holds a rhythm near 30 Hz that plain muscle noise has not', () => {
    const share = (trace: Float64Array) => {
      const [line, all] = bandPowers(trace, SAMPLE_RATE_HZ, 4096, [
        [27, 33],
        [1, 499],
      ]);
      return line.power / all.power;
    };
    expect(share(here)).toBeGreaterThan(share(plain) + 0.1); // half of the share 0.3 lies within the width
  });

  it('keeps its size whatever the share of the rhythm', () => {
    // Both traces see the same bursts, so sizes agree but for their own noise: 2 % is over 4 standard errors.
    expect(Math.abs(rms(here) / rms(plain) - 1)).toBeLessThan(0.05);
  });
});

describe('swallow', () => {
  it('has its median size times the gain of the site, and 0.9 of it on the other side', () => {
    const section = { burstsPerS: 0.1, durationS: 5, durationLogSd: 0, burstLogSd: 0 };
    const [here, there] = playNoise(swallow, { ...slow, swallow: section }, 2_000_000);
    const starts = onsets(here).filter((at, k, all) => (all[k + 1] ?? 0) - at > 5500);
    const sizes = starts.map((at) => rms(here.subarray(at + 200, at + 4800)));
    const expected = 40 * Math.abs(channelGain('swallow', 'mastoid'));
    // A burst of 4.6 s in a band of about 300 Hz: its rms errs by 2 %; overlaps (longer, larger) are dropped by median.
    const middle = [...sizes].sort((a, b) => a - b)[Math.floor(sizes.length / 2)];
    expect(Math.abs(middle / expected - 1)).toBeLessThan(0.02);
    const ratio = mean(starts.map((at) => rms(there.subarray(at, at + 5000)) / rms(here.subarray(at, at + 5000))));
    expect(Math.abs(ratio - 0.9)).toBeLessThan(0.02);
  });
});

describe('movement', () => {
  const section = { ...endless, burstUv: 100 };
  const [here] = playNoise(movement, { ...slow, movement: section }, 400_000);
  const [pull] = playNoise(movement, { ...slow, movement: { ...section, muscleShare: 0 } }, 400_000);
  const [muscle] = playNoise(movement, { ...slow, movement: { ...section, leadFactor: 0 } }, 400_000);

  it('is the sum of a slow pull and of muscles at work in the same bursts', () => {
    const errors = here.map((value, i) => Math.abs(value - pull[i] - muscle[i]));
    expect(errors.reduce((most, value) => Math.max(most, value), 0)).toBeLessThan(1e-6);
    const share = (trace: Float64Array, band: [number, number]) => {
      const [inside, all] = bandPowers(trace, SAMPLE_RATE_HZ, 8192, [band, [0.2, 499]]);
      return inside.power / all.power;
    };
    // Share of the formula (f/f_l)²/[(1 + (f/f_l)²)(1 + (f/f_h)²)²] with corners 0.5 and 20 Hz; 3 % for the edges of bursts.
    const density = (hz: number) => (hz / 0.5) ** 2 / (1 + (hz / 0.5) ** 2) / (1 + (hz / 20) ** 2) ** 2;
    const expected = integrate(density, 0.5, 20) / integrate(density, 0.2, 499);
    expect(Math.abs(share(pull, [0.5, 20]) - expected)).toBeLessThan(0.03);
    expect(share(muscle, [0.5, 20])).toBeLessThan(0.1);
    // muscleShare 0.15 of the size; slow noise of 0.5 Hz makes the pull's own rms uncertain by 15 %.
    expect(Math.abs(rms(muscle) / rms(pull) / 0.15 - 1)).toBeLessThan(0.2);
  });

  it('that is asked for is held at its size, on top of bursts that stay as they were', () => {
    const play = (keys: object) => playNoise(movement, { ...slow, movement: keys }, 400_000)[0];
    const asked = play({ heldUv: 200 });
    // Pull and muscles, 1 and 0.15 of the size; slow noise of 0.5 to 20 Hz for 400 s knows its size to 2 %.
    expect(Math.abs(rms(asked) / (200 * Math.hypot(1, 0.15)) - 1)).toBeLessThan(0.08);
    const alone = play({ burstsPerS: 0.2 });
    const both = play({ burstsPerS: 0.2, heldUv: 200 });
    for (let i = 0; i < both.length; i += 997) expect(both[i] - asked[i]).toBeCloseTo(alone[i], 9);
  });

  it('is the same at every site: pulls do not cancel between electrodes', () => {
    const [canal] = playNoise(
      movement,
      { ...slow, movement: section, response: { kind: 'none' }, montage: { site: 'neck' } },
      400_000,
    );
    expect(canal).toEqual(here);
  });
});

describe('sucking', () => {
  const section = { present: true, suckS: 0.15, sucksPerS: 1.5, boutS: 10, pauseS: 10 };
  const [here] = playNoise(sucking, { ...slow, sucking: section }, 4_000_000);
  const at = onsets(here).map((sample) => sample / SAMPLE_RATE_HZ);
  const gaps = at.slice(1).map((time, k) => time - at[k]);
  const withinBout = gaps.filter((gap) => gap < 1.2);

  it('has 1 to 2 bursts a second within a bout', () => {
    // Shorter ones begin a new bout after a short pause: of exponential pauses of 10 s, 4 % are below 0.45 s.
    const short = withinBout.filter((gap) => gap < 0.9 / 2 - 0.002);
    expect(short.length).toBeLessThan(0.02 * withinBout.length);
    // The pace of a bout is uniform 1–2/s and a bout holds bursts in proportion: mean gap 1/mean pace = 0.667 s,
    // over about 200 bouts whose mean gaps scatter by 0.13 s.
    expect(Math.abs(mean(withinBout) - 1 / 1.5)).toBeLessThan((4 * 0.13) / Math.sqrt(200));
    expect(standardDeviation(withinBout)).toBeLessThan(0.2);
  });

  it('rests half of the time, as bouts and pauses of 10 s say', () => {
    const sucked = withinBout.reduce((sum, gap) => sum + gap, 0);
    // 4000 s hold about 200 cycles of exponential bout and pause: the share errs by √½/√200/... = 2.5 %.
    expect(Math.abs(sucked / 4000 - 0.5)).toBeLessThan(4 * 0.025 + 0.03); // 0.03: first and last burst of a bout
  });
});
