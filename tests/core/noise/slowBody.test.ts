import { describe, expect, it } from 'vitest';
import { breathing } from '../../../src/core/noise/breathing.ts';
import { breathingRhythm } from '../../../src/core/noise/breathingRhythm.ts';
import { leadMovement } from '../../../src/core/noise/leadMovement.ts';
import { skin } from '../../../src/core/noise/skin.ts';
import { smoothWander } from '../../../src/core/noise/smoothWander.ts';
import { stream } from '../../../src/core/random/stream.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { bandPowers, integrate } from '../powerSpectrum.ts';
import { correlation, median, rms, variance } from '../sampleStatistics.ts';
import { playInBlocks, playNoise } from './playNoise.ts';

const SAMPLE_RATE_HZ = 1000;
const slow = { converter: { sampleRateHz: SAMPLE_RATE_HZ }, filter: { lowPassHz: 400 } };

describe('smoothWander', () => {
  const stepS = 0.032;
  const next = smoothWander(stream('2', 'test/wander'), 0.5, stepS);
  const values = Float64Array.from({ length: 262_144 }, next);

  it('has variance 1 and the promised spectrum: 4 standard errors and 4 % for the length of steps', () => {
    const bands = [
      [0.1, 0.5],
      [0.5, 1],
      [1, 3],
    ] as const;
    const density = (hz: number) => 4 / (Math.PI * 0.5) / (1 + (hz / 0.5) ** 2) ** 2;
    for (const { power, standardError, fromHz, toHz } of bandPowers(values, 1 / stepS, 4096, bands)) {
      const expected = integrate(density, fromHz, toHz);
      expect(Math.abs(power - expected)).toBeLessThan(4 * standardError + 0.1 * expected);
    }
    // Memory of about 0.8 s: 8400 s hold 10 000 independent values.
    expect(Math.abs(variance(values) - 1)).toBeLessThan(4 * Math.sqrt(2 / 10_000) + 0.04);
  });

  it('is stationary from its first value on', () => {
    const firsts = Array.from({ length: 2000 }, (_, k) => smoothWander(stream('2', 'test/start', k), 0.5, stepS)());
    expect(Math.abs(variance(firsts) - 1)).toBeLessThan(4 * Math.sqrt(2 / firsts.length));
  });
});

describe('skin', () => {
  const section = { sweatUv: 200, cornerHz: 0.2 };

  it('has its size in each channel, half of it shared: 4 standard errors', () => {
    const seconds = 8000;
    const [here, there] = playNoise(skin, { ...slow, skin: section }, seconds * SAMPLE_RATE_HZ);
    // Memory of about 2 s: 4000 independent values.
    for (const trace of [here, there])
      expect(Math.abs(rms(trace) / 200 - 1)).toBeLessThan(4 / Math.sqrt(2 * 4000) + 0.01);
    expect(Math.abs(correlation(here, there) - 0.5)).toBeLessThan(4 / Math.sqrt(4000) + 0.01);
  });

  it('leaves the band of an early response alone', () => {
    const fast = { converter: { sampleRateHz: 16_000 } };
    const [here] = playNoise(skin, { ...fast, skin: section }, 64 * 16_384);
    const [inBand] = bandPowers(here, 16_000, 16_384, [[100, 1500]]);
    expect(Math.sqrt(inBand.power)).toBeLessThan(0.05);
  });
});

describe('breathing', () => {
  const document = { ...slow, breathing: { sizeUv: 20 } };
  const [here, there] = playNoise(breathing, document, 1_200_000);

  it('is a wave of 20 µV, 15 times a minute', () => {
    expect(Math.abs(Math.max(...here.subarray(0, 100_000)) - 20)).toBeLessThan(0.05);
    let risingCount = 0;
    for (let i = 1; i < here.length; i++) if (here[i - 1] < 0 && here[i] >= 0) risingCount++;
    // 1200 s at 0.25 Hz: 300 breaths; the pace wanders by 10 % with a memory of 10 s: 10 %·√(2·10/1200) = 1.3 %.
    expect(Math.abs(risingCount / 300 - 1)).toBeLessThan(4 * 0.013);
    const errors = there.map((value, i) => Math.abs(value - 0.8 * here[i]));
    expect(errors.reduce((most, value) => Math.max(most, value), 0)).toBeLessThan(1e-9);
  });

  it('is the breath that every reader sees', () => {
    const rhythm = breathingRhythm(resolveScenario(document), '7');
    for (const step of [0, 1, 100, 5000]) {
      expect(here[32 * step]).toBeCloseTo(20 * Math.sin(2 * Math.PI * rhythm.turnsAtStep(step)), 9);
    }
  });
});

describe('leadMovement', () => {
  const section = { knocksPerS: 0.02, knockUv: 100, knockLogSd: 0, swingHz: 3, decayS: 0.3 };
  const [here, there] = playNoise(leadMovement, { ...slow, leadMovement: section }, 20_000_000);
  const knocks: number[] = [];
  let silentFor = 0;
  for (let i = 1; i < here.length; i++) {
    if (here[i] !== 0 && silentFor > 100) knocks.push(i - 1);
    silentFor = here[i] === 0 ? silentFor + 1 : 0;
  }

  it('knocks as often as asked, each lead by itself', () => {
    // 3.6 s after a knock hide the next one: the share e^(−0.02·3.6) begins in silence.
    const expected = 0.02 * 20_000 * Math.exp(-0.02 * 3.6);
    expect(Math.abs(knocks.length - expected)).toBeLessThan(4 * Math.sqrt(expected));
    expect(Math.abs(correlation(here.map(Math.abs), there.map(Math.abs)))).toBeLessThan(0.1);
  });

  it('follows size·sin(2πft)·e^(−t/τ) to the last sample of a swing, whatever the block', () => {
    const one = { ...section, decayS: 1 };
    const [swing] = playNoise(leadMovement, { ...slow, leadMovement: one }, 300_000);
    const at = swing.findIndex((value) => value !== 0) - 1;
    // sin(w), sin(2w) and the decay give the frequency: y₂/y₁ = 2·e^(−1/τf_s)·cos w
    const fade = Math.exp(-1 / 1000);
    const w = Math.acos(swing[at + 2] / swing[at + 1] / (2 * fade));
    const sizeUv = swing[at + 1] / (fade * Math.sin(w));
    expect(Math.abs(Math.abs(sizeUv) - 100)).toBeLessThan(1e-3);
    for (let age = 0; age < 12_000; age += 7) {
      const expected = sizeUv * Math.sin(w * age) * fade ** age;
      if (!(Math.abs(swing[at + age] - expected) < 1e-4)) expect.fail(`${age} samples on`);
    }
    playInBlocks(leadMovement, { ...slow, leadMovement: one }, 30_000, 37, ([block], start) => {
      if (block.some((value, i) => start + i < 300_000 && value !== swing[start + i])) expect.fail(`block at ${start}`);
    });
  });

  it('starts at 0, swings and dies away with its time constant, up or down', () => {
    const alone = knocks.filter((at, k) => (knocks[k + 1] ?? here.length) - at > 4000);
    const size = (at: number, fromS: number) => rms(here.subarray(at + fromS * 1000, at + fromS * 1000 + 600));
    // 0.6 s later a swing has fallen by e^(−0.6/0.3), whatever its frequency but for the phase at the edges.
    const falls = alone.map((at) => size(at, 0.6) / size(at, 0));
    expect(Math.abs(median(falls) / Math.exp(-2) - 1)).toBeLessThan(0.05);
    // The decay keeps a single swing below its size; two that overlap may exceed it: 0.02/s in the first 0.3 s.
    const large = alone.filter((at) => Math.max(...here.subarray(at, at + 1000).map(Math.abs)) > 100);
    expect(large.length).toBeLessThan(0.03 * alone.length);
    const up = alone.filter((at) => here[at + 5] > 0).length;
    expect(Math.abs(up - alone.length / 2)).toBeLessThan(4 * Math.sqrt(alone.length / 4));
  });
});
