import { describe, expect, it } from 'vitest';
import { blink } from '../../../src/core/noise/blink.ts';
import { eyeMuscle } from '../../../src/core/noise/eyeMuscle.ts';
import { saccade } from '../../../src/core/noise/saccade.ts';
import { bandPowers } from '../powerSpectrum.ts';
import { mean, median, rms } from '../sampleStatistics.ts';
import { playNoise } from './playNoise.ts';

const SAMPLE_RATE_HZ = 1000;
const slow = { converter: { sampleRateHz: SAMPLE_RATE_HZ }, filter: { lowPassHz: 400 } };
const atEye = { response: { kind: 'none' }, montage: { site: 'infra-orbital' } };

/** Stretches that are not silent, as [from, to). */
function stretches(trace: Float64Array): [number, number][] {
  const found: [number, number][] = [];
  let from = -1;
  for (let i = 0; i < trace.length; i++) {
    if (trace[i] !== 0 && from < 0) from = i;
    if (trace[i] === 0 && from >= 0) {
      found.push([from, i]);
      from = -1;
    }
  }
  return found;
}
const peak = (trace: Float64Array) => trace.reduce((most, value) => Math.max(most, Math.abs(value)), 0);

describe('blink', () => {
  const eyes = { blinksPerS: 0.25 };
  const [here, there] = playNoise(blink, { ...slow, ...atEye, eyes }, 8_000_000);
  const blinks = stretches(here).filter(([from, to]) => to - from > 100);

  it('comes as often as asked: 4 standard errors', () => {
    // Pauses are exponential with mean 3.75 s, blinks last 0.25 s: of 2000 in 8000 s the count errs by √2000·3.75/4.
    expect(Math.abs(blinks.length - 2000)).toBeLessThan(4 * Math.sqrt(2000) * (3.75 / 4) + 0.02 * 2000); // 0.02: log-normal mean
  });

  it('is 120 µV in the median under the eye and lasts 250 ms', () => {
    const se = 1 / Math.sqrt(blinks.length);
    const sizes = blinks.map(([from, to]) => Math.log(peak(here.subarray(from, to))));
    expect(Math.abs(median(sizes) - Math.log(120))).toBeLessThan(4 * 1.25 * 0.3 * se + 0.01);
    const lengths = blinks.map(([from, to]) => Math.log((to - from) / SAMPLE_RATE_HZ));
    expect(Math.abs(median(lengths) - Math.log(0.25))).toBeLessThan(4 * 1.25 * 0.2 * se + 0.02); // ends are silent
  });

  it('goes down and up under the eye, together on both sides', () => {
    for (const [from, to] of blinks.slice(0, 50)) {
      const wave = here.subarray(from, to);
      expect(wave.indexOf(Math.min(...wave))).toBeLessThan(wave.indexOf(Math.max(...wave)));
      expect(Math.abs(mean(wave))).toBeLessThan(0.01 * peak(wave));
    }
    expect(peak(there.map((value, i) => value - 0.9 * here[i]))).toBeLessThan(1e-9);
  });

  it('lies below 10 Hz', () => {
    const [low, all] = bandPowers(here, SAMPLE_RATE_HZ, 4096, [
      [0, 10],
      [0, 500],
    ]);
    expect(low.power / all.power).toBeGreaterThan(0.97);
  });

  it('is one small bump between mastoid and vertex: 4 µV', () => {
    const [head] = playNoise(blink, { ...slow, eyes: { ...eyes, blinkLogSd: 0 } }, 60_000);
    expect(Math.abs(peak(head) - 4)).toBeLessThan(0.01);
    expect(Math.min(...head)).toBeGreaterThanOrEqual(0);
  });
});

describe('saccade', () => {
  const eyes = { saccadesPerS: 0.5 };
  const [here, there] = playNoise(saccade, { ...slow, ...atEye, eyes }, 8_000_000);

  it('steps by 40 µV on average under the eye, in 40 ms, and stays: 4 standard errors', () => {
    const steps: number[] = [];
    for (let i = 1; i < here.length - 41; i++) {
      if (Math.abs(here[i] - here[i - 1]) > 1e-9 && Math.abs(here[i - 1] - here[i - 2]) < 1e-9) {
        steps.push(Math.abs(here[i + 39] - here[i - 1]));
        expect(Math.abs(here[i + 40] - here[i + 39])).toBeLessThan(1e-9);
        i += 40;
      }
    }
    expect(steps.length).toBeGreaterThan(3500);
    // Steps of one direction to the next are differences of normal numbers: SD/mean of |d| is √(π/2 − 1) = 0.755;
    // neighbouring steps share a direction, which adds at most a factor √2.
    const tolerance = (4 * Math.SQRT2 * 0.755) / Math.sqrt(steps.length);
    expect(Math.abs(mean(steps) / (1.5 * 27) - 1)).toBeLessThan(tolerance);
  });

  it('is opposite on the two sides and does not run away', () => {
    expect(peak(there.map((value, i) => value + here[i]))).toBe(0);
    expect(peak(here.subarray(4_000_000))).toBeLessThan(5 * 1.5 * 27);
  });
});

describe('eyeMuscle', () => {
  it('has its size under the eye and next to nothing elsewhere', () => {
    const eyes = { muscleUv: 4, muscleLogSd: 0 };
    const [here] = playNoise(eyeMuscle, { ...slow, ...atEye, eyes }, 200_000);
    expect(Math.abs(rms(here) / 4 - 1)).toBeLessThan(0.02);
    const [head] = playNoise(eyeMuscle, { ...slow, eyes }, 200_000);
    expect(Math.abs(rms(head) / rms(here) - 0.02)).toBeLessThan(1e-9);
  });
});
