import { describe, expect, it } from 'vitest';
import { contactOf, impedanceAt } from '../../../src/core/chain/contact.ts';
import { sizeOf } from '../../../src/core/complex.ts';
import { oneDrawFilter } from '../../../src/core/noise/contactNoise.ts';
import { currentNoise } from '../../../src/core/noise/currentNoise.ts';
import { thermal } from '../../../src/core/noise/thermal.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { bandPowers, integrate } from '../powerSpectrum.ts';
import { correlation, rms } from '../sampleStatistics.ts';
import { playNoise } from './playNoise.ts';

const RATE = 16000;
const BANDS_HZ = [
  [30, 300],
  [300, 1000],
  [1000, 3000],
  [100, 3000],
] as const;
const warm = (more: object = {}) => ({ electrodes: { thermalNoise: true, ...more } });

const contacts = [
  // electrodes, why
  [{}, 'good discs'],
  [{ ipsilateral: { type: 'canal', contactFactor: 2 } }, 'canal against vertex'],
  [{ common: { contactFactor: 5 }, ipsilateral: { contactFactor: 5 } }, 'poor both'],
] as const;

describe('thermal noise of the contacts', () => {
  it.each(contacts)('is the integral of 4kT·Re Z(f) within 3 %%: %j', (electrodes, why) => {
    const scenario = resolveScenario(warm(electrodes));
    const density = (hz: number) =>
      4 *
      1.380649e-23 *
      300 *
      1e12 *
      (impedanceAt(contactOf(scenario, 'common'), hz).re + impedanceAt(contactOf(scenario, 'ipsilateral'), hz).re);
    const [channel] = playNoise(thermal, warm(electrodes), 120 * RATE);
    for (const band of bandPowers(channel, RATE, 2048, BANDS_HZ)) {
      const expected = integrate(density, band.fromHz, band.toHz);
      expect((4 * band.standardError) / expected, 'sharp enough to tell').toBeLessThan(0.035);
      expect(Math.abs(band.power / expected - 1), why).toBeLessThan(0.03);
    }
  });

  it('is half in power of what the tested 9 kΩ would make in 3 kHz, two thirds in size', () => {
    const [channel] = playNoise(thermal, warm(), 60 * RATE);
    const [band] = bandPowers(channel, RATE, 2048, [[1, 3000]]);
    const flat = 4 * 1.380649e-23 * 300 * 1e12 * 9000 * (band.toHz - band.fromHz);
    expect(Math.sqrt(flat)).toBeCloseTo(0.67, 2);
    expect(band.power / flat).toBeGreaterThan(0.46);
    expect(band.power / flat).toBeLessThan(0.5);
  });

  it('shares the common electrode between the channels: correlation 1/2 between equal contacts', () => {
    const [here, there] = playNoise(thermal, warm(), 20 * RATE);
    expect(Math.abs(correlation(here, there) - 0.5)).toBeLessThan(4 / Math.sqrt(10 * RATE));
  });

  it('follows the leads: with the ears exchanged each channel has the other’s electrode', () => {
    const dry = warm({ contralateral: { contactFactor: 20 } });
    const [here, there] = playNoise(thermal, dry, RATE);
    const [swappedHere, swappedThere] = playNoise(thermal, { ...dry, leads: { swapped: 'sides' } }, RATE);
    expect(swappedHere).toEqual(there);
    expect(swappedThere).toEqual(here);
    expect(rms(there)).toBeGreaterThan(2 * rms(here));
  });

  it('is louder while a contact is nearly lost, and the same to the bit otherwise', () => {
    const losing = warm({ ipsilateral: { lossesPerS: 0.3 }, lossS: 1 });
    const [lost] = playNoise(thermal, losing, 40 * RATE);
    const [held] = playNoise(thermal, warm(), 40 * RATE);
    let same = 0;
    let louder = 0;
    for (let from = 2048; from + 1024 <= lost.length; from += 1024) {
      const ratio = rms(lost.subarray(from, from + 1024)) / rms(held.subarray(from, from + 1024));
      if (ratio === 1) same++;
      else if (ratio > 1.5 && ratio < 6) louder++; // √(20 + 1)/√2 = 3.2
    }
    expect(same).toBeGreaterThan(100);
    expect(louder).toBeGreaterThan(50);
    expect(same + louder).toBe(Math.floor(lost.length / 1024) - 2);
  });

  it('an electrode keeps its draws when another changes', () => {
    const good = playNoise(thermal, warm(), 2000)[1];
    const changed = playNoise(thermal, warm({ ipsilateral: { contactFactor: 9 } }), 2000)[1];
    expect(changed).toEqual(good);
  });
});

describe('amplifier current noise', () => {
  it.each(contacts)('is the current times |Z(f)| within 3 %%: %j', (electrodes, why) => {
    const document = { electrodes, amplifier: { currentNoiseFaPerRtHz: 100 } };
    const scenario = resolveScenario(document);
    const square = (electrode: 'common' | 'ipsilateral', hz: number) =>
      sizeOf(impedanceAt(contactOf(scenario, electrode), hz)) ** 2;
    const [channel] = playNoise(currentNoise, document, 120 * RATE);
    for (const band of bandPowers(channel, RATE, 2048, BANDS_HZ)) {
      const expected = integrate(
        (hz) => 1e-14 * (square('common', hz) + square('ipsilateral', hz)), // (100 fA·Ω)² = 10⁻¹⁴ µV²
        band.fromHz,
        band.toHz,
      );
      expect(Math.abs(band.power / expected - 1), why).toBeLessThan(0.03);
    }
  });

  it('an open lead: 0.1 pA/√Hz through 205 pF, falling with the frequency', () => {
    const document = { electrodes: { ipsilateral: { open: true } }, amplifier: { currentNoiseFaPerRtHz: 100 } };
    const [channel] = playNoise(currentNoise, document, 60 * RATE);
    for (const band of bandPowers(channel, RATE, 4096, [
      [100, 400],
      [400, 1600],
    ])) {
      const expected = integrate((hz) => (1e-7 / (2 * Math.PI * hz * 205e-12)) ** 2, band.fromHz, band.toHz);
      expect(Math.abs(band.power / (expected * 1) - 1)).toBeLessThan(0.06);
    }
  });
});

describe('oneDrawFilter', () => {
  const density = ({ pole, now, before }: ReturnType<typeof oneDrawFilter>, hz: number, rate: number) => {
    const cos = Math.cos((2 * Math.PI * hz) / rate);
    return ((2 / rate) * (now * now + before * before + 2 * now * before * cos)) / (1 + pole * pole - 2 * pole * cos);
  };

  it.each([
    [0.8, 16000],
    [50, 16000],
    [995, 16000],
    [995, 2000],
    [995, 64000],
    [20_000, 16000],
  ])('corner %d Hz at %d Hz: within 0.8 %% up to a quarter of the rate', (cornerHz, rate) => {
    for (const flat of [0, 0.2]) {
      const filter = oneDrawFilter({ flat, low: 3, cornerHz }, rate);
      for (let hz = 0; hz <= rate / 4; hz += rate / 400) {
        const wanted = flat + 3 / (1 + (hz / cornerHz) ** 2);
        expect(Math.abs(density(filter, hz, rate) / wanted - 1)).toBeLessThan(0.008);
      }
    }
  });

  it.each([
    [{ flat: -1, low: 1, cornerHz: 1 }, 'densities must be >= 0, got -1 and 1'],
    [{ flat: 0, low: Number.NaN, cornerHz: 1 }, 'densities must be >= 0, got 0 and NaN'],
    [{ flat: 0, low: 1, cornerHz: 0 }, 'cornerHz must be > 0, got 0'],
  ])('refuses %j', (spectrum, message) => {
    expect(() => oneDrawFilter(spectrum, 16000)).toThrow(message);
  });
});
