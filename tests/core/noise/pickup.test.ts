import { describe, expect, it } from 'vitest';
import { mains } from '../../../src/core/noise/mains.ts';
import { pickup } from '../../../src/core/noise/pickup.ts';
import { pickupByPath } from '../../../src/core/noise/pickupPaths.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { correlation, mean, rms, standardDeviation } from '../sampleStatistics.ts';
import { playNoise } from './playNoise.ts';

const RATE = 16000;
const steady = { mains: { wanderHz: 0 } };
const still = { modulation: 0 };

/** Size of one frequency by projection; a whole number of its periods must fit. */
function sizeAt(signal: Float64Array, hz: number, rate = RATE): number {
  let cosine = 0;
  let sine = 0;
  for (const [i, value] of signal.entries()) {
    cosine += (2 * value * Math.cos((2 * Math.PI * hz * i) / rate)) / signal.length;
    sine += (2 * value * Math.sin((2 * Math.PI * hz * i) / rate)) / signal.length;
  }
  return Math.hypot(cosine, sine);
}

describe('pickup', () => {
  it('is absent in a quiet room on battery, and there as soon as the supply is the mains', () => {
    expect(pickup.create(resolveScenario({}), '7')).toBeNull();
    const fed = { amplifier: { supply: 'mains' }, electrodes: { ipsilateral: { contactFactor: 2 } } };
    expect(pickup.create(resolveScenario(fed), '7')).not.toBeNull();
  });

  it.each([0, 1])('plays one path alone at the sizes that pickupByPath tells, channel %i', (channel) => {
    const document = { ...steady, room: { ...still, fieldUt: 1 } };
    const signal = playNoise(pickup, document, RATE)[channel];
    const { harmonicsUv } = pickupByPath(resolveScenario(document))[3];
    for (let order = 1; order <= 12; order++) {
      expect(sizeAt(signal, 50 * order)).toBeCloseTo(harmonicsUv[channel][order - 1], 8);
    }
    const power = harmonicsUv[channel].reduce((sum, uv) => sum + (uv * uv) / 2, 0);
    expect(rms(signal) ** 2, 'and nothing else').toBeCloseTo(power, 6);
  });

  it('adds paths as phasors: over many seeds their powers add, 4 standard errors', () => {
    const room = { ...still, fieldUt: 0.2, leadCurrentNaPerM: 3 };
    const document = { ...steady, room, electrodes: { ipsilateral: { contactFactor: 2 } } };
    const parts = pickupByPath(resolveScenario(document)).map(({ harmonicsUv }) => harmonicsUv[0][0]);
    const expected = parts.reduce((sum, uv) => sum + uv * uv, 0);
    const powers = Array.from(
      { length: 300 },
      (_, seed) => sizeAt(playNoise(pickup, document, 320, String(seed))[0], 50) ** 2,
    );
    const error = standardDeviation(powers) / Math.sqrt(300);
    expect(Math.abs(mean(powers) - expected)).toBeLessThan(4 * error);
    expect(standardDeviation(powers), 'they are not in step').toBeGreaterThan(0.2 * expected);
  });

  it('hums at the frequency of the supply, whose wander it shares with the section mains', () => {
    const line = { wanderHz: 0.3, wanderMemoryS: 2, harmonicRatios: [1], fundamentalUv: 1, contralateralGain: 1 };
    const room = { ...still, fieldUt: 1, fieldHarmonicRatios: [1] };
    const [path] = playNoise(pickup, { mains: line, room }, 60 * RATE);
    const [known] = playNoise(mains, { mains: line }, 60 * RATE);
    // The product of two tones in step is constant but for the doubled frequency: same phase difference all along.
    const productOf = (from: number) =>
      mean(path.subarray(from, from + RATE).map((value, i) => value * known[from + i]));
    const firstSecond = productOf(0);
    for (let second = 1; second < 59; second += 6) {
      expect(Math.abs(productOf(second * RATE) - firstSecond)).toBeLessThan(0.1);
    }
  });

  it('people who move change it by the given share: 5 % rms, and smoothly', () => {
    const room = { modulation: 0.05, modulationMemoryS: 0.5, fieldUt: 1, fieldHarmonicRatios: [1] };
    const [signal] = playNoise(pickup, { ...steady, room }, 300 * RATE);
    const sizes = Array.from({ length: 300 * 10 }, (_, k) => rms(signal.subarray(k * 1600, (k + 1) * 1600)));
    const share = standardDeviation(sizes) / mean(sizes);
    // Two memories of 0.5 s make about 200 independent values; reading over 0.1 s smooths a little.
    expect(Math.abs(share / 0.05 - 1)).toBeLessThan(4 / Math.sqrt(2 * 200));
    expect(correlation(sizes, sizes, 1)).toBeGreaterThan(0.9);
    const second = signal.map((value, i) => (i < 2 ? 0 : value - 2 * signal[i - 1] + signal[i - 2]));
    const curvature = 18.85 * ((2 * Math.PI * 50) / RATE) ** 2;
    expect(Math.max(...second.subarray(2, RATE).map(Math.abs)), 'no jumps').toBeLessThan(1.3 * curvature);
  });

  it('grows while a contact is nearly lost, and is as before otherwise', () => {
    const room = { ...still, leadCurrentNaPerM: 5 };
    const losing = { ipsilateral: { contactFactor: 1.5, lossesPerS: 0.2 }, lossS: 1 };
    const holding = { ipsilateral: { contactFactor: 1.5 } };
    const [lost] = playNoise(pickup, { ...steady, room, electrodes: losing }, 30 * RATE);
    const [held] = playNoise(pickup, { ...steady, room, electrodes: holding }, 30 * RATE);
    let same = 0;
    let louder = 0;
    for (let step = 0; step + 1024 <= lost.length; step += 1024) {
      const [a, b] = [lost, held].map((signal) => rms(signal.subarray(step, step + 1024)));
      if (a === b) same++;
      else if (a > 10 * b) louder++;
    }
    expect(same).toBeGreaterThan(50);
    expect(louder).toBeGreaterThan(50);
    expect(same + louder).toBe(Math.floor(lost.length / 1024));
  });

  it('leaves out harmonics at and above half the sample rate', () => {
    const low = { converter: { sampleRateHz: 1000 }, filter: { lowPassHz: 400 }, stimulus: { ratePerS: 5 } };
    const room = { ...still, fieldUt: 1, fieldHarmonicRatios: Array(12).fill(1) };
    const [signal] = playNoise(pickup, { ...steady, ...low, room }, 1000);
    const { harmonicsUv } = pickupByPath(resolveScenario({ room }))[3];
    const power = harmonicsUv[0].slice(0, 9).reduce((sum, uv) => sum + (uv * uv) / 2, 0);
    expect(rms(signal) ** 2 / power).toBeCloseTo(1, 6);
  });
});
