import { describe, expect, it } from 'vitest';
import { mains } from '../../../src/core/noise/mains.ts';
import { correlation, mean, standardDeviation } from '../sampleStatistics.ts';
import { playNoise } from './playNoise.ts';

const SAMPLE_RATE_HZ = 16000;
const COUNT = 2 * SAMPLE_RATE_HZ;
const STRONG_GRID = { wanderHz: 0 };

/** Size and phase (turns, of a cosine) of one frequency, by projection. */
function tone(signal: Float64Array, hz: number, rate = SAMPLE_RATE_HZ, from = 0) {
  let cosine = 0;
  let sine = 0;
  for (let i = 0; i < signal.length; i++) {
    const turns = (hz * (from + i)) / rate;
    const angle = 2 * Math.PI * (turns - Math.floor(turns));
    cosine += (2 * signal[i] * Math.cos(angle)) / signal.length;
    sine -= (2 * signal[i] * Math.sin(angle)) / signal.length;
  }
  return { size: Math.hypot(cosine, sine), turns: Math.atan2(sine, cosine) / (2 * Math.PI) };
}

describe('mains: harmonics', () => {
  const ratios = [1, 0.15, 0.4, 0.1, 0.2, 0, 0.08]; // the schema's default
  const document = { mains: { ...STRONG_GRID, fundamentalUv: 4 } };
  const [here, there] = playNoise(mains, document, COUNT);

  it.each(ratios.map((ratio, h) => [h + 1, ratio] as const))(
    'harmonic %d has %d of the first, in both channels',
    (order, ratio) => {
      expect(tone(here, order * 50).size).toBeCloseTo(4 * ratio, 9);
      expect(tone(there, order * 50).size).toBeCloseTo(4 * ratio * 0.8, 9);
    },
  );

  it('there is nothing else', () => {
    const power = mean(here.map((value) => value * value));
    expect(power).toBeCloseTo((16 / 2) * ratios.reduce((sum, ratio) => sum + ratio * ratio, 0), 9);
  });

  it('phases differ between harmonics, channels and seeds', () => {
    const turns = [1, 2, 3, 5].flatMap((order) => [tone(here, order * 50).turns, tone(there, order * 50).turns]);
    const [other] = playNoise(mains, document, COUNT, '8');
    turns.push(tone(other, 50).turns);
    for (const [k, one] of turns.entries()) {
      for (const two of turns.slice(k + 1)) expect(Math.abs(one - two)).toBeGreaterThan(1e-4);
    }
  });

  it('phases are uniform over 400 seeds: 4 standard errors of the mean phasor', () => {
    const turns = Array.from({ length: 400 }, (_, k) => tone(playNoise(mains, document, 320, String(k))[0], 50).turns);
    expect(Math.abs(mean(turns.map((turn) => Math.cos(2 * Math.PI * turn))))).toBeLessThan(4 / Math.sqrt(800));
    expect(Math.abs(mean(turns.map((turn) => Math.sin(2 * Math.PI * turn))))).toBeLessThan(4 / Math.sqrt(800));
  });

  it('removing one harmonic leaves the others as they were', () => {
    const fewer = [1, 0, 0.4, 0.1, 0.2, 0, 0.08];
    const [without] = playNoise(mains, { mains: { ...document.mains, harmonicRatios: fewer } }, COUNT);
    const removed = here.map((value, i) => value - without[i]);
    for (const order of [1, 3, 4, 5, 7]) expect(tone(removed, order * 50).size).toBeLessThan(1e-9);
    expect(tone(removed, 100).size).toBeCloseTo(0.6, 9);
    expect(tone(removed, 100).turns).toBeCloseTo(tone(here, 100).turns, 9);
  });

  it('a harmonic may stand without the first', () => {
    const [third] = playNoise(mains, { mains: { ...document.mains, harmonicRatios: [0, 0, 1] } }, COUNT);
    expect(tone(third, 150).size).toBeCloseTo(4, 9);
    expect(tone(third, 50).size).toBeLessThan(1e-9);
  });

  it('harmonics at or above half the sample rate are left out, not folded back', () => {
    const many = {
      mains: { ...STRONG_GRID, lineHz: 60, fundamentalUv: 1, harmonicRatios: Array(12).fill(1) },
      converter: { sampleRateHz: 1000 },
      filter: { lowPassHz: 400 },
    };
    const [channel] = playNoise(mains, many, 2000);
    for (let order = 1; order <= 8; order++) expect(tone(channel, order * 60, 1000).size).toBeCloseTo(1, 9);
    expect(mean(channel.map((value) => value * value))).toBeCloseTo(8 / 2, 9);
  });
});

describe('mains: time', () => {
  it('belongs to the wall, not to the stimulus: two rates, the same hum to the bit', () => {
    const hum = { mains: { fundamentalUv: 4 } };
    const at = (ratePerS: number, jitterMs: number) =>
      playNoise(mains, { ...hum, stimulus: { ratePerS, jitterMs } }, COUNT);
    expect(at(25, 0)).toEqual(at(27.7, 5));
  });

  it('a steady line keeps its phase for 20 minutes', () => {
    const rate = 1000;
    const document = {
      mains: { ...STRONG_GRID, lineHz: 49.7, fundamentalUv: 1, harmonicRatios: [1] },
      converter: { sampleRateHz: rate },
      filter: { lowPassHz: 400 },
    };
    const [channel] = playNoise(mains, document, 1200 * rate);
    const first = tone(channel.subarray(0, 10 * rate), 49.7, rate);
    const last = tone(channel.subarray(1190 * rate), 49.7, rate, 1190 * rate);
    expect(last.turns).toBeCloseTo(first.turns, 6);
    expect(last.size).toBeCloseTo(1, 9);
  });

  it('wander: normal about the line frequency, of the given spread and memory: 4 standard errors', () => {
    const rate = 1000;
    const memoryS = 5;
    const durationS = 20_000;
    const document = {
      mains: { lineHz: 50, fundamentalUv: 1, harmonicRatios: [1], wanderHz: 0.1, wanderMemoryS: memoryS },
      converter: { sampleRateHz: rate },
      filter: { lowPassHz: 400 },
    };
    const [channel] = playNoise(mains, document, durationS * rate);
    const windowS = 0.1; // five periods of 50 Hz
    const length = windowS * rate;
    const phases = Array.from(
      { length: durationS / windowS },
      (_, k) => tone(channel.subarray(k * length, (k + 1) * length), 50, rate, k * length).turns,
    );
    const deviationsHz = phases.slice(1).map((turns, k) => {
      const step = turns - phases[k];
      return (step - Math.round(step)) / windowS;
    });
    const independent = durationS / memoryS;
    expect(Math.abs(mean(deviationsHz))).toBeLessThan(4 * 0.1 * Math.sqrt(2 / independent));
    expect(Math.abs(standardDeviation(deviationsHz) / 0.1 - 1)).toBeLessThan(4 / Math.sqrt(2 * independent) + 0.01);
    const afterMemory = correlation(deviationsHz, deviationsHz, memoryS / windowS);
    expect(Math.abs(afterMemory - Math.exp(-1))).toBeLessThan(4 * Math.sqrt(2 / independent));
  });

  it('wander moves all harmonics together: the third turns three times as far', () => {
    const rate = 1000;
    const document = {
      mains: { lineHz: 50, fundamentalUv: 1, harmonicRatios: [1, 0, 1], wanderHz: 0.2, wanderMemoryS: 5 },
      converter: { sampleRateHz: rate },
      filter: { lowPassHz: 400 },
    };
    const [channel] = playNoise(mains, document, 100 * rate);
    const piece = (second: number, hz: number) =>
      tone(channel.subarray(second * rate, second * rate + 100), hz, rate, second * rate).turns;
    for (let second = 1; second < 100; second += 7) {
      const [first, third] = [50, 150].map((hz) => piece(second, hz) - piece(0, hz));
      const rest = third - 3 * first;
      expect(Math.abs(rest - Math.round(rest))).toBeLessThan(0.02);
    }
  });
});
