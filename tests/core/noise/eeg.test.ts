import { describe, expect, it } from 'vitest';
import { eeg } from '../../../src/core/noise/eeg.ts';
import { bandPowers, integrate } from '../powerSpectrum.ts';
import { correlation, mean, rms, standardDeviation, variance } from '../sampleStatistics.ts';
import { playNoise } from './playNoise.ts';

const SAMPLE_RATE_HZ = 16000;
const MINUTE = 60 * SAMPLE_RATE_HZ;
const STEADY = { gainLogSd: 0 };

/** The stated spectrum without alpha, µV²/Hz, one-sided. */
const density = (slowUv: number, cornerHz: number, floorNv: number) => (hz: number) =>
  (2 * slowUv ** 2) / (Math.PI * cornerHz) / (1 + (hz / cornerHz) ** 2) + (floorNv / 1000) ** 2;

describe('eeg: spectrum', () => {
  const [relaxed] = playNoise(eeg, { eeg: STEADY }, 4 * MINUTE);
  const bandsHz = [
    [1, 8],
    [8, 20],
    [20, 60],
    [60, 150],
    [100, 1500],
    [300, 1500],
    [1500, 3000],
  ] as const;
  const measured = bandPowers(relaxed, SAMPLE_RATE_HZ, 16384, bandsHz);

  // 2 %: the sampled AR(1) is up to that much above the formula at 1500 Hz, by aliasing. Relative standard errors: 0.3 to 3.3 %.
  it.each(bandsHz.map((band, k) => [...band, measured[k]] as const))(
    '%d to %d Hz as the formula says',
    (_low, _high, band) => {
      const expected = integrate(density(6, 12, 12), band.fromHz, band.toHz);
      expect(band.standardError / expected, 'sharp enough to tell').toBeLessThan(0.04);
      expect(Math.abs(band.power - expected)).toBeLessThan(4 * band.standardError + 0.02 * expected);
    },
  );

  it('1.6 µV of slow activity between 100 and 1500 Hz, the model’s own check, and 0.45 µV of floor: within 3 %', () => {
    expect(Math.abs(Math.sqrt(measured[4].power) / Math.hypot(1.6, 0.45) - 1)).toBeLessThan(0.03);
  });

  const parts = [
    // eeg section, formula, why
    [{ slowUv: 0 }, density(0, 12, 12), 'the floor alone is white up to the Nyquist frequency'],
    [{ floorNvPerRtHz: 0, cornerHz: 50 }, density(6, 50, 0), 'slow activity alone, another corner'],
    [{ slowUv: 0.5, floorNvPerRtHz: 200 }, density(0.5, 12, 200), 'a floor as large as the slow part'],
  ] as const;
  it.each(parts)('%j', (section, formula, why) => {
    const [channel] = playNoise(eeg, { eeg: { ...STEADY, ...section } }, MINUTE);
    for (const band of bandPowers(channel, SAMPLE_RATE_HZ, 8192, [
      [5, 40],
      [40, 400],
      [400, 1500],
    ])) {
      const expected = integrate(formula, band.fromHz, band.toHz);
      const message = `${why}: ${band.fromHz} to ${band.toHz} Hz`;
      expect(Math.abs(band.power - expected), message).toBeLessThan(4 * band.standardError + 0.02 * expected);
    }
  });

  it('slowUv is the whole rms of the slow part', () => {
    const seconds = Array.from({ length: 400 }, (_, k) =>
      variance(relaxed.subarray((k * 3 * MINUTE) / 400, ((k + 1) * 3 * MINUTE) / 400)),
    );
    const floor = 0.012 ** 2 * (SAMPLE_RATE_HZ / 2);
    const se = standardDeviation(seconds) / 20;
    expect(Math.abs(mean(seconds) - 36 - floor)).toBeLessThan(4 * se + 0.02 * 36); // 2 %: variance about each piece’s mean
  });

  it('alpha: its rms, around 10 Hz, 3.5 Hz wide at half power', () => {
    const [alpha] = playNoise(eeg, { eeg: { ...STEADY, slowUv: 0, floorNvPerRtHz: 0, alphaUv: 10 } }, 4 * MINUTE);
    const [total, peak, core] = bandPowers(alpha, SAMPLE_RATE_HZ, 65536, [
      [0.5, 8000],
      [6, 14],
      [8.25, 11.75],
    ]);
    expect(Math.abs(total.power - 100)).toBeLessThan(4 * total.standardError + 1);
    expect(peak.power / total.power).toBeGreaterThan(0.7);
    // A resonance holds half of its power within its half-power width (arctan 1 of arctan ∞).
    expect(Math.abs(core.power / total.power - 0.5)).toBeLessThan(0.04);
  });
});

describe('eeg: channels and swell', () => {
  it.each([[0], [0.6], [1]])('the two channels correlate by %d: 4 standard errors', (channelCorrelation) => {
    for (const section of [{ slowUv: 0 }, { slowUv: 0, floorNvPerRtHz: 0, alphaUv: 5 }, {}]) {
      const document = { eeg: { ...STEADY, channelCorrelation, ...section } };
      const [first, second] = playNoise(eeg, document, MINUTE);
      // Slow activity: independent numbers are far fewer than samples; take the scatter of pieces of one second.
      const pieces = Array.from({ length: 60 }, (_, k) =>
        correlation(
          first.subarray(k * SAMPLE_RATE_HZ, (k + 1) * SAMPLE_RATE_HZ),
          second.subarray(k * SAMPLE_RATE_HZ, (k + 1) * SAMPLE_RATE_HZ),
        ),
      );
      const se = standardDeviation(pieces) / Math.sqrt(59);
      expect(Math.abs(mean(pieces) - channelCorrelation)).toBeLessThan(4 * se + 0.03); // 0.03: bias of short pieces
      expect(Math.abs(rms(first) / rms(second) - 1), 'equally large').toBeLessThan(0.1);
    }
  });

  it('swells: the logarithm of the size has the given spread and memory, common to both channels', () => {
    const section = { slowUv: 0, gainLogSd: 0.4, gainMemoryS: 2, channelCorrelation: 0 };
    const count = 1200 * 1000; // 1200 s at 1000 Hz, 600 memories
    const document = {
      eeg: section,
      converter: { sampleRateHz: 1000 },
      filter: { lowPassHz: 400 },
    };
    const [first, second] = playNoise(eeg, document, count);
    const logs = [first, second].map((channel) =>
      Array.from({ length: 6000 }, (_, k) => Math.log(rms(channel.subarray(k * 200, (k + 1) * 200)))),
    );
    // Logarithm of the rms of 200 white samples: variance 1/400. Averaged over 0.2 s, the swell keeps 1 − 0.2/3/2 of its variance.
    const swellSd = Math.sqrt(variance(logs[0]) - 1 / 400);
    expect(Math.abs(swellSd - 0.4)).toBeLessThan((4 * 0.4) / Math.sqrt(2 * 600) + 0.02);
    const shared = correlation(logs[0], logs[1]);
    expect(shared, 'common swell').toBeGreaterThan(0.95);
    expect(Math.abs(correlation(logs[0], logs[0], 10) - Math.exp(-1))).toBeLessThan(4 / Math.sqrt(600));
    expect(Math.abs(mean(logs[0]) - Math.log(0.012 * Math.sqrt(500)))).toBeLessThan(4 * 0.4 * Math.sqrt(2 / 600));
  });

  it('without swell the size does not change', () => {
    const [channel] = playNoise(eeg, { eeg: { ...STEADY, slowUv: 0 } }, MINUTE);
    const sizes = Array.from({ length: 60 }, (_, k) =>
      rms(channel.subarray(k * SAMPLE_RATE_HZ, (k + 1) * SAMPLE_RATE_HZ)),
    );
    expect(standardDeviation(sizes) / mean(sizes)).toBeLessThan(1.4 / Math.sqrt(2 * SAMPLE_RATE_HZ));
  });
});
