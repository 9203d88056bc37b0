import { describe, expect, it } from 'vitest';
import { drift } from '../../../src/core/noise/drift.ts';
import { correlation, mean, median, standardDeviation, variance } from '../sampleStatistics.ts';
import { playInBlocks, playNoise } from './playNoise.ts';

const RATE = 1000;
const slow = { converter: { sampleRateHz: RATE }, filter: { lowPassHz: 400 } };

describe('drift: random walk', () => {
  const durationS = 4000;
  const walk = playNoise(drift, { ...slow, drift: { walkUvPerRtS: 3 } }, durationS * RATE);

  /** Increments over stretches that do not overlap. */
  function increments(channel: Float64Array, lagS: number): number[] {
    const lag = lagS * RATE;
    return Array.from(
      { length: Math.floor(channel.length / lag) - 1 },
      (_, k) => channel[(k + 1) * lag] - channel[k * lag],
    );
  }

  // Two electrodes, 3 µV/√s each: 18 µV² per second between them. The variance of n normal numbers errs by √(2/n).
  it.each([[0.32], [1.6], [8], [40]])(
    'over %d s its variance has grown by 18 µV² per second: 4 standard errors',
    (lagS) => {
      for (const channel of walk) {
        const steps = increments(channel, lagS);
        expect(Math.abs(variance(steps) / (18 * lagS) - 1)).toBeLessThan(4 * Math.sqrt(2 / steps.length));
        expect(Math.abs(mean(steps))).toBeLessThan((4 * Math.sqrt(18 * lagS)) / Math.sqrt(steps.length));
        expect(Math.abs(correlation(steps, steps, 1)), 'a walk has no memory').toBeLessThan(
          4 / Math.sqrt(steps.length),
        );
      }
    },
  );

  it('shares the vertex electrode: the channels’ increments correlate by ½, 4 standard errors', () => {
    const [here, there] = walk.map((channel) => increments(channel, 0.32));
    // Standard error of r about ρ: (1 − ρ²)/√n
    expect(Math.abs(correlation(here, there) - 0.5)).toBeLessThan((4 * 0.75) / Math.sqrt(here.length));
  });

  it('starts at 0 and is continuous', () => {
    for (const channel of walk) {
      expect(channel[0]).toBe(0);
      let largest = 0;
      for (let i = 1; i < channel.length; i++) largest = Math.max(largest, Math.abs(channel[i] - channel[i - 1]));
      expect(largest).toBeLessThan(0.5); // 32 samples carry 0.76 µV rms, so a sample 0.024; 6 standard deviations are 0.14
    }
  });

  it('a poor contact drifts more: four times the resistance, twice the walk of that electrode', () => {
    const poor = { ipsilateral: { contactFactor: 4 } };
    const [here, there] = playNoise(drift, { ...slow, electrodes: poor, drift: { walkUvPerRtS: 3 } }, durationS * RATE);
    expect(
      there.every((value, i) => value === walk[1][i]),
      'the other side is as it was',
    ).toBe(true);
    const steps = increments(here, 1.6);
    // 9 of the vertex and 4 × 9 of the poor one, µV² per second
    expect(Math.abs(variance(steps) / (45 * 1.6) - 1)).toBeLessThan(4 * Math.sqrt(2 / steps.length));
  });

  it('scales with the walk', () => {
    const twice = playNoise(drift, { ...slow, drift: { walkUvPerRtS: 6 } }, 10_000);
    for (let i = 0; i < 10_000; i++) expect(twice[0][i]).toBeCloseTo(2 * walk[0][i], 9);
  });
});

describe('drift: steps of a poor contact', () => {
  const durationS = 40_000;
  const rate = 0.02;
  const steps: { at: number; sizeUv: number }[][] = [[], []];
  let longestDecayError = 0;
  const last = [0, 0];
  const sinceStep = [0, 0];
  const fade = Math.exp(-1 / (2 * RATE));
  playInBlocks(
    drift,
    { ...slow, drift: { walkUvPerRtS: 0, stepsPerS: rate, stepUv: 50, stepRecoveryS: 2 } },
    durationS * RATE,
    50_000,
    (block, start) => {
      for (const c of [0, 1]) {
        for (let i = 0; i < block[c].length; i++) {
          const now = block[c][i];
          const sizeUv = now - last[c] * fade;
          if (Math.abs(sizeUv) > 1e-6) {
            steps[c].push({ at: start + i, sizeUv });
            sinceStep[c] = 0;
          } else if (++sinceStep[c] < 10_000) {
            longestDecayError = Math.max(longestDecayError, Math.abs(sizeUv));
          }
          last[c] = now;
        }
      }
    },
  );

  it('come as a Poisson process, in each channel on its own: 4 standard errors', () => {
    const expected = durationS * rate;
    for (const channel of steps) {
      expect(Math.abs(channel.length - expected)).toBeLessThan(4 * Math.sqrt(expected));
      const gapsS = channel.slice(1).map(({ at }, k) => (at - channel[k].at) / RATE);
      expect(Math.abs(standardDeviation(gapsS) * rate - 1)).toBeLessThan((4 * Math.SQRT2) / Math.sqrt(gapsS.length));
    }
    const shared = new Set(steps[0].map(({ at }) => at));
    expect(steps[1].filter(({ at }) => shared.has(at)).length).toBeLessThan(3);
  });

  it('are log-normal about their median, up as often as down: 4 standard errors', () => {
    for (const channel of steps) {
      const logs = channel.map(({ sizeUv }) => Math.log(Math.abs(sizeUv)));
      const root = Math.sqrt(logs.length);
      expect(Math.abs(median(logs) - Math.log(50))).toBeLessThan((4 * 0.5 * Math.sqrt(Math.PI / 2)) / root);
      expect(Math.abs(standardDeviation(logs) - 0.5)).toBeLessThan((4 * 0.5) / Math.SQRT2 / root);
      const up = channel.filter(({ sizeUv }) => sizeUv > 0).length;
      expect(Math.abs(up - logs.length / 2)).toBeLessThan((4 * root) / 2);
    }
  });

  it('fade by 1/e in the recovery time, exponentially', () => {
    expect(longestDecayError).toBeLessThan(1e-9); // every sample is the last one times e^(−1/2000)
  });

  it('fade to exactly nothing, not to ever smaller numbers', () => {
    const rare = { walkUvPerRtS: 0, stepsPerS: 0.01, stepRecoveryS: 0.01 };
    const [channel] = playNoise(drift, { ...slow, drift: rare }, 400_000);
    const smallest = channel.reduce((min, value) => (value === 0 ? min : Math.min(min, Math.abs(value))), Infinity);
    expect(channel.some((value) => value !== 0)).toBe(true);
    expect(smallest).toBeGreaterThan(1e-30); // a denormal number is a hundred times slower
  });

  it('belong to one contact: none in an ear electrode that was prepared again, the other as before', () => {
    const jumps = { walkUvPerRtS: 0, stepsPerS: 0.5 };
    const both = playNoise(drift, { ...slow, drift: jumps }, 50_000);
    const one = playNoise(drift, { ...slow, drift: jumps, electrodes: { ipsilateral: { stepFactor: 0 } } }, 50_000);
    expect(one[0].every((value) => value === 0)).toBe(true);
    expect(both[0].some((value) => value !== 0)).toBe(true);
    expect(one[1]).toEqual(both[1]);
  });

  it('leave the walk as it was, and the other way round', () => {
    const both = playNoise(drift, { ...slow, drift: { stepsPerS: 0.5 } }, 50_000);
    const walk = playNoise(drift, { ...slow, drift: { stepsPerS: 0 } }, 50_000);
    const only = playNoise(drift, { ...slow, drift: { stepsPerS: 0.5, walkUvPerRtS: 0 } }, 50_000);
    for (const c of [0, 1]) {
      for (let i = 0; i < 50_000; i++) {
        if (!(Math.abs(both[c][i] - walk[c][i] - only[c][i]) < 1e-9)) expect.fail(`sample ${i} of channel ${c}`);
      }
    }
  });
});
