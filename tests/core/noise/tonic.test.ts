import { describe, expect, it } from 'vitest';
import { activityLevel } from '../../../src/core/noise/activityLevel.ts';
import { neck } from '../../../src/core/noise/neck.ts';
import { shiver } from '../../../src/core/noise/shiver.ts';
import { bandPowers } from '../powerSpectrum.ts';
import { mean, median, rms, standardDeviation } from '../sampleStatistics.ts';
import { playNoise } from './playNoise.ts';

const SAMPLE_RATE_HZ = 1000;
const slow = { converter: { sampleRateHz: SAMPLE_RATE_HZ }, filter: { lowPassHz: 400 } };

describe('activityLevel', () => {
  it('follows a change exponentially and then holds', () => {
    const spells = [
      { lengthS: 1, targetUv: 10 },
      { lengthS: 5, targetUv: 2 },
    ];
    const asked: number[] = [];
    const level = activityLevel(
      (startS) => {
        asked.push(startS);
        return spells[asked.length - 1];
      },
      0.1,
      SAMPLE_RATE_HZ,
    );
    const levels = new Float64Array(3000);
    level.fill(levels, 0, levels.length);
    expect(levels[999]).toBe(10);
    // Steps of 32 samples: the change is seen at 1024. Drawn as chords, the curve is exact at every step.
    expect(levels[1024 + 96]).toBeCloseTo(2 + 8 * Math.exp(-0.096 / 0.1), 9);
    expect(levels[2999]).toBeCloseTo(2, 6);
    expect(asked).toEqual([0, 1]);
  });
});

describe('neck', () => {
  it('holds levels for 10 to 60 s, log-normal about the median, at the gain of the site', () => {
    const holdCount = 400;
    const section = { tonicUv: 8, tonicLogSd: 0.5 };
    const seconds = holdCount * 35;
    const [here, there] = playNoise(
      neck,
      { ...slow, neck: section, response: { kind: 'none' }, montage: { site: 'neck' } },
      seconds * 1000,
    );
    const logs: number[] = [];
    const ratios: number[] = [];
    for (let s = 0; s + 1 <= seconds; s++) {
      const piece = here.subarray(s * 1000, s * 1000 + 1000);
      logs.push(Math.log(rms(piece)));
      ratios.push(Math.log(rms(there.subarray(s * 1000, s * 1000 + 1000)) / rms(piece)));
    }
    // Time spent on each hold goes with its length, not with its level: about 300 independent levels.
    const se = 0.5 / Math.sqrt(300);
    expect(Math.abs(median(logs) - Math.log(3 * 8))).toBeLessThan(4 * 1.25 * se);
    expect(Math.abs(standardDeviation(logs) - 0.5)).toBeLessThan((4 * se) / Math.SQRT2 + 0.01);
    expect(Math.abs(mean(ratios) - Math.log(0.8))).toBeLessThan((4 * standardDeviation(ratios)) / Math.sqrt(seconds));
    // A second differs clearly from the last one only when a hold ends: every 35 s.
    const jumps = logs.slice(2).filter((log, k) => Math.abs(log - logs[k]) > 0.35).length / 2;
    expect(jumps / holdCount).toBeGreaterThan(0.3); // two of three normal steps of SD 0.5·√2 exceed 0.35
    expect(jumps / holdCount).toBeLessThan(1.1);
  });
});

describe('shiver', () => {
  it.each([0, 0.4, 0.8])('has the asked size at depth %f', (depth) => {
    const [here] = playNoise(shiver, { ...slow, shiver: { muscleUv: 12, depth } }, 400_000);
    // 400 s of noise 200 Hz wide: the power errs by √(1/(200·400)) = 0.4 %, somewhat more when it swells.
    expect(Math.abs(rms(here) / 12 - 1)).toBeLessThan(0.015);
  });

  it('swells 8 to 12 times a second, in both channels together', () => {
    const [here, there] = playNoise(shiver, { ...slow, shiver: { muscleUv: 12 } }, 400_000);
    for (const trace of [here, there]) {
      const squares = trace.map((value) => value * value - 144);
      const [swell, below] = bandPowers(squares, SAMPLE_RATE_HZ, 4096, [
        [8, 12],
        [2, 6],
      ]);
      expect(swell.power).toBeGreaterThan(5 * below.power);
    }
    const product = here.map((value, i) => (value * value - 144) * (there[i] * there[i] - 144));
    // Common swelling: covariance of the two powers a⁴·(2m² + m⁴/8)/(1 + m²/2)², by hand from the moments of a sine.
    const m = 0.8;
    const expected = (144 * 144 * (2 * m * m + m ** 4 / 8)) / (1 + (m * m) / 2) ** 2;
    const pieces = Array.from({ length: 400 }, (_, s) => mean(product.subarray(s * 1000, s * 1000 + 1000)));
    expect(Math.abs(mean(pieces) - expected)).toBeLessThan((4 * standardDeviation(pieces)) / 20);
  });
});
