import { describe, expect, it } from 'vitest';
import { toneAbrWaves, toneLatencyVMs } from '../../../src/core/response/toneAbr.ts';
import type { Wave } from '../../../src/core/response/waves.ts';
import { meanTruth, peak, QUIET } from './meanTruth.ts';

const waves = (level: number, hz: number, rate = 10, rise = 2) => toneAbrWaves(level, rate, hz, rise, 'ipsilateral');
const named = (list: Wave[], name: string) => list.find((wave) => wave.name === name) as Wave;

describe('toneLatencyVMs', () => {
  const figures = [
    // level dB nHL, Hz, ms: model figures, checked by hand from the formula
    [80, 4000, 6.4],
    [80, 500, 8.2],
    [40, 500, 11.1],
  ] as const;
  it.each(figures)('%d dB nHL at %d Hz: %d ms', (level, hz, expected) => {
    expect(Math.abs(toneLatencyVMs(level, hz, 2) - expected)).toBeLessThan(0.06);
  });

  it('a slower rise delays by half of what it is longer, if it is longer than 1 ms at all', () => {
    expect(toneLatencyVMs(80, 500, 4) - toneLatencyVMs(80, 500, 2)).toBeCloseTo(2, 9); // 8 instead of 4 ms
    expect(toneLatencyVMs(80, 4000, 3)).toBe(toneLatencyVMs(80, 4000, 2)); // 0.75 ms
  });
});

describe('toneAbrWaves', () => {
  it('low tones: one broad wave V; high loud tones: I and III as well', () => {
    const list = (level: number, hz: number) => waves(level, hz).map(({ name }) => name);
    expect(list(80, 500)).toEqual(['V', 'SN']);
    expect(list(80, 1000)).toEqual(['V', 'SN']);
    expect(list(80, 2000)).toEqual(['I', 'III', 'V', 'SN']);
    expect(named(waves(60, 2000), 'I').amplitudeUv).toBe(0);
    expect(list(2.9, 1000)).toEqual([]);
  });

  const widths = [
    [500, 0.91, 0.55],
    [1000, 0.68, 0.6],
    [2000, 0.508, 0.65],
    [4000, 0.38, 0.7],
  ] as const;
  it.each(widths)('at %d Hz wave V is %d ms wide and %d of a click', (hz, widthMs, share) => {
    const wave = named(waves(80, hz), 'V');
    expect(wave.widthMs).toBeCloseTo(widthMs, 2);
    expect(wave.amplitudeUv).toBeCloseTo(share * 0.5 * (1 - Math.exp(-80 / 35)), 9);
  });

  it('rate delays it as it does a click', () => {
    expect(named(waves(80, 1000, 50), 'V').latencyMs - named(waves(80, 1000), 'V').latencyMs).toBeCloseTo(0.22, 9);
  });
});

describe('the ripple of low tones', () => {
  const low = { ...QUIET, session: { durationS: 10 }, response: { kind: 'tone-abr', latencyJitterMs: 0 } };
  const difference = (frequencyHz: number, polarity: string, hearing = {}, channel = 0) => {
    const of = (sign: 1 | -1) =>
      meanTruth({ ...low, hearing, stimulus: { frequencyHz, polarity, levelDbNhl: 80 } }, '1', sign).truthUv[channel];
    const [plus, minus] = [of(1), of(-1)];
    return Math.max(...plus.map((value, i) => Math.abs(value - minus[i]))) / 2;
  };

  it('inverts with the polarity at 0.5 and 1 kHz, 0.02 to 0.06 µV, and is absent above', () => {
    for (const hz of [500, 1000]) {
      expect(difference(hz, 'alternating')).toBeGreaterThan(0.02);
      expect(difference(hz, 'alternating')).toBeLessThan(0.06);
    }
    expect(difference(2000, 'alternating')).toBeLessThan(0.005); // amplitude scatter of two halves only
  });

  it('is as large as the ear hears the tone: e^(−g/40) with a conductive loss g, none from an ear that hears nothing', () => {
    const loss = (hearing: object, channel = 0) => difference(500, 'alternating', hearing, channel);
    const normal = loss({});
    expect(loss({ conductiveDb: 60 }) / normal).toBeCloseTo(Math.exp(-60 / 40), 1);
    // A cochlea at 70 dB hears 80 dB as x + θ(x/X)^2.5 = 10 + 70/3^2.5 = 14.5 dB, by hand.
    expect(loss({ thresholdsDbHl: [70, 70, 70, 70, 70] }) / normal).toBeCloseTo(Math.exp(-65.5 / 40), 1);
    expect(loss({ thresholdsDbHl: [110, 110, 110, 110, 110] })).toBeLessThan(0.005);
    // Dead test ear, far ear at 80 − 60 = 20 dB: in the channel of that ear, and three tenths in that of the dead one.
    const far = { thresholdsDbHl: [110, 110, 110, 110, 110], crossHearing: true };
    expect(loss(far, 1) / normal).toBeCloseTo(Math.exp(-60 / 40), 1);
    expect(loss(far, 0)).toBeLessThan(0.5 * loss(far, 1));
  });

  it('comes from the nerve: out of step, a twentieth of it is left', () => {
    const outOfStep = { desynchrony: { present: true, jitterMs: 0 } };
    const left = difference(500, 'alternating', outOfStep) / difference(500, 'alternating');
    expect(Math.abs(left - 0.05)).toBeLessThan(0.015); // the order of the two polarities makes the rest
  });

  it('cancels in an alternating mean: wave V stays', () => {
    const { timesMs, truthUv } = meanTruth({ ...low, stimulus: { frequencyHz: 500, levelDbNhl: 80 } });
    const v = peak(timesMs, truthUv[0], 1, 6, 11);
    expect(Math.abs(v.ms - 8.2)).toBeLessThan(0.3); // the filters move it a little
  });
});
