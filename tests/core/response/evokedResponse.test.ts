import { describe, expect, it } from 'vitest';
import { clickAbrWaves } from '../../../src/core/response/clickAbr.ts';
import { evokedResponse } from '../../../src/core/response/evokedResponse.ts';
import { wavesUv } from '../../../src/core/response/waves.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { correlation, mean, standardDeviation } from '../sampleStatistics.ts';

const SAMPLE_RATE_HZ = 16000;
const STEADY = { latencyJitterMs: 0, amplitudeLogSd: 0 };
type Polarity = 1 | -1;

/** Plays the response to stimuli at the given samples in blocks; every stimulus is told `aheadSamples` early. */
function play(
  document: object,
  stimuli: readonly { sample: number; polarity?: Polarity }[],
  count: number,
  blockSize = count,
  seed = '7',
): [Float64Array, Float64Array] {
  const response = evokedResponse(resolveScenario(document), seed);
  const channels: [Float64Array, Float64Array] = [new Float64Array(count), new Float64Array(count)];
  const aheadSamples = SAMPLE_RATE_HZ / 50;
  let told = 0;
  for (let start = 0; start < count; start += blockSize) {
    const length = Math.min(blockSize, count - start);
    while (told < stimuli.length && stimuli[told].sample < start + length + aheadSamples) {
      response.present({ index: told, sample: stimuli[told].sample, polarity: stimuli[told].polarity ?? 1 });
      told++;
    }
    response.addUv(
      channels.map((channel) => channel.subarray(start, start + length)),
      start,
      length,
    );
  }
  return channels;
}

/** The formula at one sample, without table and interpolation. */
function exactUv(channel: 'ipsilateral' | 'contralateral', sample: number, polarity: Polarity = 1): number {
  return wavesUv(clickAbrWaves(75, 27.7, polarity, channel), (1000 * sample) / SAMPLE_RATE_HZ);
}

describe('evokedResponse', () => {
  it('puts the formula behind the stimulus, within 10⁻⁴ of the peak, and nothing before', () => {
    for (const polarity of [1, -1] as const) {
      const [ipsilateral, contralateral] = play({ response: STEADY }, [{ sample: 500, polarity }], 1500);
      const peak = Math.max(...ipsilateral);
      for (let i = 0; i < 280; i++) {
        expect(Math.abs(ipsilateral[500 + i] - exactUv('ipsilateral', i, polarity))).toBeLessThan(1e-4 * peak);
        expect(Math.abs(contralateral[500 + i] - exactUv('contralateral', i, polarity))).toBeLessThan(1e-4 * peak);
      }
      expect(ipsilateral.subarray(0, 500).every((value) => value === 0)).toBe(true);
      expect(
        ipsilateral.subarray(500 + 300).every((value) => value === 0),
        'over after 18 ms',
      ).toBe(true);
    }
  });

  it('adds to what is there', () => {
    const response = evokedResponse(resolveScenario({ response: STEADY }), '7');
    response.present({ index: 0, sample: 0, polarity: 1 });
    const channels = [new Float64Array(300).fill(5), new Float64Array(300).fill(7)];
    response.addUv(channels, 0, 300);
    const [ipsilateral, contralateral] = play({ response: STEADY }, [{ sample: 0 }], 300);
    for (let i = 0; i < 300; i++) {
      expect(channels[0][i]).toBeCloseTo(5 + ipsilateral[i], 12);
      expect(channels[1][i]).toBeCloseTo(7 + contralateral[i], 12);
    }
  });

  it('lets overlapping responses add up', () => {
    const both = play({ response: STEADY }, [{ sample: 100 }, { sample: 180 }], 600);
    const first = play({ response: STEADY }, [{ sample: 100 }], 600);
    const second = play({ response: STEADY }, [{ sample: 180 }], 600);
    for (let c = 0; c < 2; c++) {
      for (let i = 0; i < 600; i++) expect(both[c][i]).toBeCloseTo(first[c][i] + second[c][i], 12);
    }
  });

  const stimuli = Array.from({ length: 40 }, (_, k) => ({
    sample: 300 + Math.round(k * 250.3), // closer than the response is long
    polarity: (k % 2 === 0 ? 1 : -1) as Polarity,
  }));
  const scattered = { response: { latencyJitterMs: 0.5, amplitudeLogSd: 0.3 } };
  const whole = play(scattered, stimuli, 11_000);
  it.each([[1], [37], [1024], [4096]])('gives the same bits in blocks of %i', (blockSize) => {
    expect(play(scattered, stimuli, 11_000, blockSize)).toEqual(whole);
  });

  it('depends on the seed only through the scatter', () => {
    expect(play(scattered, stimuli, 3000, 3000, '8')).not.toEqual(play(scattered, stimuli, 3000));
    expect(play({ response: STEADY }, stimuli, 3000, 3000, '8')).toEqual(play({ response: STEADY }, stimuli, 3000));
  });

  const silences = [
    ['no response', { response: { kind: 'none' } }],
    ['scale 0', { response: { amplitudeScale: 0 } }],
    ['below 3 dB nHL', { stimulus: { levelDbNhl: 2.9 } }],
  ] as const;
  it.each(silences)('is silent with %s', (_what, document) => {
    for (const channel of play(document, [{ sample: 10 }], 600))
      expect(channel.every((value) => value === 0)).toBe(true);
  });

  it('scales with amplitudeScale', () => {
    const [one] = play({ response: STEADY }, [{ sample: 10 }], 400);
    const [three] = play({ response: { ...STEADY, amplitudeScale: 3 } }, [{ sample: 10 }], 400);
    for (let i = 0; i < 400; i++) expect(three[i]).toBeCloseTo(3 * one[i], 12);
  });
});

describe('evokedResponse: scatter from sweep to sweep', () => {
  const count = 3000;
  const spacing = 600;
  const stimuli = Array.from({ length: count }, (_, k) => ({ sample: k * spacing + 200 }));

  /** Size and shift of every response, by projection on the steady one and on its slope. */
  function scatter(document: object) {
    const [signal, other] = play(
      { response: { amplitudeLogSd: 0, latencyJitterMs: 0, ...document } },
      stimuli,
      count * spacing,
    );
    const template = Float64Array.from({ length: 320 }, (_, i) => exactUv('ipsilateral', i - 20));
    const slope = template.map(
      (_, i) => (exactUv('ipsilateral', i - 19.5) - exactUv('ipsilateral', i - 20.5)) * SAMPLE_RATE_HZ,
    );
    const power = template.reduce((sum, value) => sum + value * value, 0);
    const slopePower = slope.reduce((sum, value) => sum + value * value, 0);
    return {
      signal,
      other,
      sizes: stimuli.map(
        ({ sample }) => template.reduce((sum, value, i) => sum + value * signal[sample - 20 + i], 0) / power,
      ),
      shiftsMs: stimuli.map(
        ({ sample }) =>
          (-1000 * slope.reduce((sum, value, i) => sum + value * (signal[sample - 20 + i] - template[i]), 0)) /
          slopePower,
      ),
    };
  }

  it('amplitude: log-normal of the given spread, median 1: 4 standard errors', () => {
    const logs = scatter({ amplitudeLogSd: 0.3 }).sizes.map(Math.log);
    expect(Math.abs(mean(logs))).toBeLessThan((4 * 0.3) / Math.sqrt(count));
    expect(Math.abs(standardDeviation(logs) - 0.3)).toBeLessThan((4 * 0.3) / Math.sqrt(2 * count));
    expect(Math.abs(correlation(logs, logs, 1))).toBeLessThan(4 / Math.sqrt(count));
  });

  it('latency: normal of the given spread about 0: 4 standard errors', () => {
    const { shiftsMs } = scatter({ latencyJitterMs: 0.02 }); // small, so that the slope tells the shift
    expect(Math.abs(mean(shiftsMs))).toBeLessThan((4 * 0.02) / Math.sqrt(count));
    expect(Math.abs(standardDeviation(shiftsMs) - 0.02)).toBeLessThan((4 * 0.02) / Math.sqrt(2 * count));
    expect(Math.abs(correlation(shiftsMs, shiftsMs, 1))).toBeLessThan(4 / Math.sqrt(count));
  });

  it('amplitude and latency are drawn apart, and are common to both channels', () => {
    const { signal, other, sizes, shiftsMs } = scatter({ amplitudeLogSd: 0.1, latencyJitterMs: 0.02 });
    expect(Math.abs(correlation(sizes, shiftsMs))).toBeLessThan(4 / Math.sqrt(count));
    const peakOf = (channel: Float64Array, sample: number) => Math.max(...channel.subarray(sample, sample + 200));
    const here = stimuli.map(({ sample }) => peakOf(signal, sample));
    const there = stimuli.map(({ sample }) => peakOf(other, sample));
    expect(correlation(here, there)).toBeGreaterThan(0.99);
  });

  it('a response may begin before its stimulus, and still comes whole', () => {
    const wide = { response: { latencyJitterMs: 2, amplitudeLogSd: 0 } };
    const many = Array.from({ length: 200 }, (_, k) => ({ sample: 500 + 1000 * k }));
    const [signal] = play(wide, many, 201_000, 16);
    const [steady] = play({ response: STEADY }, [{ sample: 500 }], 1000);
    const area = (trace: Float64Array) => trace.reduce((sum, value) => sum + value * value, 0);
    for (let k = 0; k < 200; k++) {
      // The energy of a smooth waveform does not depend on where between samples it lies.
      expect(area(signal.subarray(1000 * k, 1000 * k + 1000)) / area(steady)).toBeCloseTo(1, 2);
    }
  });
});
