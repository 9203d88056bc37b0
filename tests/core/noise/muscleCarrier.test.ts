import { describe, expect, it } from 'vitest';
import { muscleCarrier } from '../../../src/core/noise/muscleCarrier.ts';
import { stream } from '../../../src/core/random/stream.ts';
import { bandPowers, integrate } from '../powerSpectrum.ts';
import { mean, standardError } from '../sampleStatistics.ts';

const SAMPLE_RATE_HZ = 16000;
const MINUTE = 60 * SAMPLE_RATE_HZ;

function carrier(lowHz: number, highHz: number, count: number): Float64Array {
  const out = new Float64Array(count);
  muscleCarrier(stream('7', 'test/carrier'), lowHz, highHz, SAMPLE_RATE_HZ).fill(out, count);
  return out;
}

describe('muscleCarrier', () => {
  const settings = [
    [60, 220],
    [40, 130],
    [20, 500],
    [200, 250],
  ] as const;

  it.each(settings)('%d to %d Hz: variance 1, 4 standard errors', (lowHz, highHz) => {
    const squares = carrier(lowHz, highHz, MINUTE).map((value) => value * value);
    const seconds = Array.from({ length: 60 }, (_, k) =>
      mean(squares.subarray(k * SAMPLE_RATE_HZ, (k + 1) * SAMPLE_RATE_HZ)),
    );
    expect(Math.abs(mean(seconds) - 1)).toBeLessThan(4 * standardError(seconds));
  });

  it.each(settings)('%d to %d Hz: spectrum around both corners, on both slopes and between', (lowHz, highHz) => {
    const shape = (hz: number) => (hz / lowHz) ** 2 / ((1 + (hz / lowHz) ** 2) * (1 + (hz / highHz) ** 2) ** 2);
    const total = integrate(shape, 0, 8000);
    const middleHz = Math.sqrt(lowHz * highHz);
    const bands = [
      [0.2 * lowHz, 0.4 * lowHz],
      [0.8 * lowHz, 1.2 * lowHz],
      [0.9 * middleHz, 1.1 * middleHz],
      [0.8 * highHz, 1.2 * highHz],
      [2 * highHz, 3 * highHz],
    ] as const;
    for (const band of bandPowers(carrier(lowHz, highHz, 2 * MINUTE), SAMPLE_RATE_HZ, 16384, bands)) {
      const expected = integrate(shape, band.fromHz, band.toHz) / total;
      // 5 %: the sampled filters leave the analogue formula towards the Nyquist frequency.
      const allowed = 4 * band.standardError + 0.05 * expected;
      expect(Math.abs(band.power - expected), `${band.fromHz} to ${band.toHz} Hz`).toBeLessThan(allowed);
    }
  });

  it('starts from rest and again after a reset: the first numbers are small, for a while not', () => {
    const source = muscleCarrier(stream('7', 'test/carrier'), 60, 220, SAMPLE_RATE_HZ);
    const early: number[] = [];
    const late: number[] = [];
    const out = new Float64Array(400);
    for (let k = 0; k < 2000; k++) {
      source.reset();
      source.fill(out, 400);
      early.push(out[0] ** 2);
      late.push(out[399] ** 2);
    }
    expect(mean(early)).toBeLessThan(0.01);
    expect(Math.abs(mean(late) - 1)).toBeLessThan(4 * standardError(late));
  });

  it('gives the same numbers in any pieces', () => {
    const source = muscleCarrier(stream('7', 'test/carrier'), 60, 220, SAMPLE_RATE_HZ);
    const whole = carrier(60, 220, 3000);
    const out = new Float64Array(64);
    for (let from = 0, k = 0; from < 3000; k++) {
      const count = Math.min([1, 37, 64][k % 3], 3000 - from);
      source.fill(out, count);
      for (let i = 0; i < count; i++) if (out[i] !== whole[from + i]) expect.fail(`number ${from + i} differs`);
      from += count;
    }
  });

  const few = (unitsPerS: number, count: number, blockSampleCount: number) => {
    const out = new Float64Array(count);
    const made = muscleCarrier(stream('7', 'test/carrier'), 60, 220, SAMPLE_RATE_HZ, unitsPerS);
    for (let i = 0; i < count; i += blockSampleCount) {
      const block = new Float64Array(Math.min(blockSampleCount, count - i));
      made.fill(block, block.length);
      out.set(block, i);
    }
    return out;
  };

  it('of single firings: variance 1, and kurtosis by Campbell, Σh⁴·rate/units', () => {
    const values = few(200, 3 * MINUTE, MINUTE);
    const moments = Array.from({ length: 180 }, (_, k) => {
      const second = values.subarray(k * SAMPLE_RATE_HZ, (k + 1) * SAMPLE_RATE_HZ);
      return [mean(second.map((value) => value ** 2)), mean(second.map((value) => value ** 4))];
    });
    const squares = moments.map(([square]) => square);
    expect(Math.abs(mean(squares) - 1)).toBeLessThan(4 * standardError(squares));
    // Impulse response of the filter, by its own recursion.
    const [high, low] = [
      Math.exp((-2 * Math.PI * 220) / SAMPLE_RATE_HZ),
      Math.exp((-2 * Math.PI * 60) / SAMPLE_RATE_HZ),
    ];
    let [first, second, slow, sum2, sum4] = [0, 0, 0, 0, 0];
    for (let i = 0; i < 4000; i++) {
      first = high * first + (1 - high) * (i === 0 ? 1 : 0);
      second = high * second + (1 - high) * first;
      slow = low * slow + (1 - low) * second;
      sum2 += (second - slow) ** 2;
      sum4 += (second - slow) ** 4;
    }
    const fourths = moments.map(([, fourth]) => fourth);
    const expected = 3 + ((sum4 / sum2 ** 2) * SAMPLE_RATE_HZ) / 200;
    expect(Math.abs(mean(fourths) - expected)).toBeLessThan(4 * standardError(fourths));
  });

  it('of single firings: the same for any block', () => {
    expect(few(60, 5000, 1)).toEqual(few(60, 5000, 4096));
  });
});
