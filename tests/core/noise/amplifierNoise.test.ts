import { describe, expect, it } from 'vitest';
import { amplifierNoise } from '../../../src/core/noise/amplifierNoise.ts';
import { bandPowers, integrate } from '../powerSpectrum.ts';
import { correlation } from '../sampleStatistics.ts';
import { playNoise } from './playNoise.ts';

const RATE = 16000;

describe('amplifierNoise', () => {
  it('white: the given density up to the Nyquist frequency, 4 standard errors', () => {
    const document = { amplifier: { noiseNvPerRtHz: 10, flickerCornerHz: 0 } };
    const [channel] = playNoise(amplifierNoise, document, 60 * RATE);
    for (const band of bandPowers(channel, RATE, 1024, [
      [50, 500],
      [500, 2000],
      [2000, 7900],
    ])) {
      const expected = 1e-4 * (band.toHz - band.fromHz);
      expect(band.standardError / expected, 'sharp enough to tell').toBeLessThan(0.02);
      expect(Math.abs(band.power - expected)).toBeLessThan(4 * band.standardError);
    }
  });

  // 1 dB: what three processes a decade apart can do; the corner's own hundredth is the lowest of them.
  it.each([
    [10, 2000],
    [40, RATE],
    [100, RATE],
  ])('1/f below %d Hz: within 1 dB of e²·(1 + f_c/f) down to a hundredth of it', (cornerHz, sampleRateHz) => {
    const document = {
      amplifier: { noiseNvPerRtHz: 10, flickerCornerHz: cornerHz },
      converter: { sampleRateHz },
      filter: { lowPassHz: 900 },
    };
    const [channel] = playNoise(amplifierNoise, document, 6_400_000);
    const bandsHz = [0.03, 0.1, 0.3, 0.7].map((share) => [share * cornerHz, 1.4 * share * cornerHz] as const);
    for (const band of bandPowers(channel, sampleRateHz, 65536, bandsHz)) {
      const expected = integrate((hz) => 1e-4 * (1 + cornerHz / hz), band.fromHz, band.toHz);
      const error = (4 * band.standardError) / expected;
      const ratio = band.power / expected;
      expect(error, 'sharp enough to tell').toBeLessThan(0.6);
      expect(ratio, `${band.fromHz} to ${band.toHz} Hz`).toBeLessThan(10 ** 0.1 + error);
      expect(ratio, `${band.fromHz} to ${band.toHz} Hz`).toBeGreaterThan(10 ** -0.1 - error);
    }
  });

  it('is independent in the two channels, white and flicker: 4 standard errors', () => {
    const [here, there] = playNoise(amplifierNoise, { amplifier: { flickerCornerHz: 0 } }, 20 * RATE);
    expect(Math.abs(correlation(here, there))).toBeLessThan(4 / Math.sqrt(20 * RATE));
    const flicker = playNoise(amplifierNoise, { amplifier: { flickerCornerHz: 1000 } }, 20 * RATE).map((channel) =>
      Float64Array.from({ length: channel.length / 32 }, (_, k) =>
        channel.subarray(32 * k, 32 * k + 32).reduce((a, b) => a + b),
      ),
    );
    expect(Math.abs(correlation(flicker[0], flicker[1]))).toBeLessThan(4 / Math.sqrt(500)); // slow: few independent numbers
  });

  it('the white part does not change when the flicker does', () => {
    const without = playNoise(amplifierNoise, { amplifier: { flickerCornerHz: 0 } }, 640);
    const with10 = playNoise(amplifierNoise, { amplifier: { flickerCornerHz: 10 } }, 640);
    // What is left is a slow level: constant for 32 samples at a time.
    for (let i = 1; i < 640; i++) {
      const [before, now] = [with10[0][i - 1] - without[0][i - 1], with10[0][i] - without[0][i]];
      if (i % 32 !== 0) expect(Math.abs(now - before)).toBeLessThan(1e-12);
    }
  });

  it('scales with the density', () => {
    const [one] = playNoise(amplifierNoise, { amplifier: { noiseNvPerRtHz: 10 } }, 1000);
    const [four] = playNoise(amplifierNoise, { amplifier: { noiseNvPerRtHz: 40 } }, 1000);
    for (let i = 0; i < 1000; i++) expect(four[i]).toBeCloseTo(4 * one[i], 12);
  });
});
