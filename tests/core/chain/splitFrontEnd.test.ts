import { describe, expect, it } from 'vitest';
import { recordingChain } from '../../../src/core/chain/chain.ts';
import { antiAliasFilter, splitFrontEnd } from '../../../src/core/chain/splitFrontEnd.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { correlation, mean, rms } from '../sampleStatistics.ts';

const RATE = 16000;
const RANGE_UV = 128;
const COUNT = 200_000;

const settings = (converter: object, amplifier: object = {}) =>
  resolveScenario({ amplifier: { rangeUv: RANGE_UV, ...amplifier }, converter: { bits: 8, ...converter } });

/** Runs one signal through the front end; the other channel is silent. */
function converted(converter: object, signal: (i: number) => number, count = COUNT): Float64Array {
  const channels = [Float64Array.from({ length: count }, (_, i) => signal(i)), new Float64Array(count)];
  splitFrontEnd(settings(converter), '7').run(channels, 0, count);
  return channels[0];
}

describe('dither', () => {
  // LSB = 256 µV / 2^8 = 1 µV.
  it('lets a constant between two codes come out right on average: 4 standard errors', () => {
    for (const constantUv of [0.1, 0.3, 0.5, 7.77]) {
      const output = converted({ dither: true }, () => constantUv);
      expect(Math.abs(mean(output) - constantUv)).toBeLessThan((4 * Math.sqrt(0.25)) / Math.sqrt(COUNT));
      expect(mean(converted({ antiAlias: false }, () => constantUv))).toBe(Math.floor(constantUv + 0.5));
    }
  });

  it('makes the power of the error LSB²/4, the same whatever the signal: theory of triangular dither', () => {
    for (const sizeUv of [0, 0.2, 1.7, 40]) {
      const signal = (i: number) => sizeUv * Math.sin(i * 0.0371);
      const error = converted({ dither: true }, signal).map((value, i) => value - signal(i));
      expect(Math.abs(rms(error) ** 2 / 0.25 - 1)).toBeLessThan(4 * Math.sqrt(1.5 / COUNT));
      if (sizeUv > 0) {
        const input = error.map((_, i) => signal(i));
        expect(Math.abs(correlation(error, input))).toBeLessThan(4 / Math.sqrt(COUNT));
      }
    }
  });

  it('is triangular: codes of −1, 0 and 1 from silence in the ratio 1 : 6 : 1', () => {
    const output = converted({ dither: true }, () => 0);
    const share = (code: number) => output.filter((value) => value === code).length / COUNT;
    expect(Math.abs(share(1) - 1 / 8)).toBeLessThan(4 * Math.sqrt(0.11 / COUNT));
    expect(Math.abs(share(-1) - 1 / 8)).toBeLessThan(4 * Math.sqrt(0.11 / COUNT));
    expect(share(0) + share(1) + share(-1)).toBe(1);
  });
});

describe('anti-alias filter', () => {
  it('is there only when asked for', () => {
    expect(antiAliasFilter(settings({}))).toEqual([]);
    expect(antiAliasFilter(settings({ antiAlias: true }))).toHaveLength(2);
  });

  const tones = [
    // Hz, expected gain in dB, tolerance, why
    [1000, 0, 0.01, 'untouched'],
    [6400, -3.01, 0.05, 'its corner: 0.4 of the rate'],
    [7500, -41.5, 0.1, '10·log(1 + (tan(π·7.5/16)/tan(0.4π))⁸)'],
  ] as const;
  it.each(tones)('%d Hz: %d dB', (hz, expectedDb, toleranceDb, why) => {
    const tone = (i: number) => 50 * Math.sin((2 * Math.PI * hz * i) / RATE);
    const output = converted({ antiAlias: true, bits: 24 }, tone, 32_000).subarray(16_000);
    const gainDb = 20 * Math.log10(rms(output) / (50 / Math.SQRT2));
    expect(Math.abs(gainDb - expectedDb), why).toBeLessThan(toleranceDb);
  });

  it('is in the truth as well: what is recorded is what truth says, to a few LSB', () => {
    const chain = recordingChain(settings({ antiAlias: true, bits: 24 }));
    const input = () => [0, 1].map((c) => Float64Array.from({ length: 4000 }, (_, i) => 20 * Math.sin(i * (0.3 + c))));
    const [recorded, truth] = [input(), input()];
    chain.recordUv(recorded, 0, 4000);
    chain.truthUv(truth, 4000);
    for (const c of [0, 1]) {
      for (let i = 0; i < 4000; i++) {
        expect(Math.abs(recorded[c][i] - truth[c][i])).toBeLessThan((8 * 2 * RANGE_UV) / 2 ** 24);
      }
    }
  });
});

describe('flags and bits', () => {
  const burst = (i: number) => (i >= 5000 && i < 5006 ? 400 : 3 * Math.sin(i));

  it.each([{ antiAlias: true }, { dither: true }, { antiAlias: true, dither: true }])(
    'flags an overload though the filter rounds it: %j',
    (converter) => {
      const front = splitFrontEnd(settings({ ...converter, guardMs: 10 }), '7');
      front.run([Float64Array.from({ length: 8000 }, (_, i) => burst(i)), new Float64Array(8000)], 0, 8000);
      expect(front.flagged(0, 0, 4999)).toBe(false);
      expect(front.flagged(0, 5001, 5003)).toBe(true);
      expect(front.flagged(0, 5006 + 150, 5006 + 155)).toBe(true);
      expect(front.flagged(0, 5006 + 170, 8000)).toBe(false);
      expect(front.flagged(1, 0, 8000)).toBe(false);
      front.forgetBefore(7000);
      expect(front.flagged(0, 0, 8000)).toBe(false);
    },
  );

  it.each([1, 37, 1024])('the same bits and flags in blocks of %i', (size) => {
    const scenario = settings({ antiAlias: true, dither: true, guardMs: 2 }, { blockingMs: 2, blockAfterMs: 1 });
    const loud = () => [0, 1].map((c) => Float64Array.from({ length: 6000 }, (_, i) => 150 * Math.sin(i * 0.01 + c)));
    const [whole, pieces] = [loud(), loud()];
    const [first, second] = [recordingChain(scenario, '3'), recordingChain(scenario, '3')];
    first.recordUv(whole, 0, 6000);
    for (let from = 0; from < 6000; from += size) {
      const cut = pieces.map((channel) => channel.subarray(from, Math.min(6000, from + size)));
      second.recordUv(cut, from, cut[0].length);
    }
    expect(pieces).toEqual(whole);
    for (let i = 0; i < 6000; i += 10) {
      for (const c of [0, 1]) expect(second.flagged(c, i, i + 10)).toBe(first.flagged(c, i, i + 10));
    }
  });

  it('with everything off it converts as the plain front end does', () => {
    const input = () => [0, 1].map((c) => Float64Array.from({ length: 6000 }, (_, i) => 150 * Math.sin(i * 0.01 + c)));
    const [plain, split] = [input(), input()];
    const scenario = settings({ guardMs: 2 }, { couplingHz: 0.01 });
    splitFrontEnd(scenario, '7').run(split, 0, 6000);
    const chain = recordingChain(scenario);
    chain.recordUv(plain, 0, 6000);
    // The chain couples and filters besides; compare flags, which only the stage and the codes decide.
    const front = splitFrontEnd(scenario, '7');
    front.run(input(), 0, 6000);
    let different = 0;
    for (let i = 0; i < 6000; i += 10) if (front.flagged(0, i, i + 10) !== chain.flagged(0, i, i + 10)) different++;
    expect(different).toBeLessThan(30);
  });
});
