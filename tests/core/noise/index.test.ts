import { describe, expect, it } from 'vitest';
import { noiseSources } from '../../../src/core/noise/index.ts';
import type { NoiseSource } from '../../../src/core/noise/noiseSource.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { rms } from '../sampleStatistics.ts';
import { everything, joined, rows } from './everything.ts';
import { playNoise, presentStimuli } from './playNoise.ts';

const COUNT = 20_000;

/** Sources that listen to the stimulus. */
const locked = ['reflex', 'artefact'];
/** Sources without chance. */
const certain = ['artefact'];

/** Whether two recordings agree to the last bit; a thousand times as fast as `toEqual`. */
function sameBits(a: readonly Float64Array[], b: readonly Float64Array[]): boolean {
  return a.every((channel, c) => Buffer.from(channel.buffer).equals(Buffer.from(b[c].buffer)));
}

/** Plays a source over `base` in pieces whose lengths come round and round. */
function inPieces(source: NoiseSource, lengths: readonly number[], base = 0): [Float64Array, Float64Array] {
  const scenario = resolveScenario(everything);
  const playing = source.create(scenario, '7')!;
  presentStimuli(playing, scenario, COUNT, '7');
  const all: [Float64Array, Float64Array] = [new Float64Array(COUNT).fill(base), new Float64Array(COUNT).fill(base)];
  for (let start = 0, k = 0; start < COUNT; k++) {
    const count = Math.min(lengths[k % lengths.length], COUNT - start);
    // A session's buffers are longer than the last piece, and hold the last block still.
    const block = all.map((channel) => Float64Array.from({ length: count + 3 }, (_, i) => channel[start + i] ?? 0));
    playing.addUv(block, start, count);
    for (const c of [0, 1]) {
      all[c].set(block[c].subarray(0, count), start);
      for (let i = count; i < count + 3; i++) {
        if (block[c][i] !== (all[c][start + i] ?? 0)) expect.fail(`${source.id} wrote beyond its block`);
      }
    }
    start += count;
  }
  return all;
}

it('has sources with ids and labels of their own, each with a row in the table', () => {
  expect(noiseSources.map(({ id }) => id).sort()).toEqual(Object.keys(rows).sort());
  expect(new Set(noiseSources.map(({ label }) => label)).size).toBe(noiseSources.length);
  for (const { label } of noiseSources) expect(label).toMatch(/^[A-Z]/);
});

const listed = noiseSources.filter(({ id }) => id in rows).map((source) => [source.id, source] as const);

describe.each(listed)('noise source %s', (id, source) => {
  const whole = playNoise(source, everything, COUNT);

  it('is there, finite, in both channels, which differ', () => {
    for (const channel of whole) {
      expect(channel.every(Number.isFinite)).toBe(true);
      expect(rms(channel)).toBeGreaterThan(0);
    }
    expect(sameBits([whole[0]], [whole[1]])).toBe(false);
  });

  it.each([[[1]], [[37]], [[1024]], [[4096]], [[1, 31, 32, 33, 700, 5, 4096, 2]]])(
    'gives the same bits in blocks of %j',
    (lengths) => {
      expect(sameBits(inPieces(source, lengths), whole)).toBe(true);
    },
  );

  it('adds to what is there', () => {
    const added = inPieces(source, [1000], 64);
    for (const c of [0, 1]) {
      for (let i = 0; i < COUNT; i++) {
        if (!(Math.abs(added[c][i] - 64 - whole[c][i]) < 1e-9)) expect.fail(`sample ${i} of channel ${c} was replaced`);
      }
    }
  });

  it('is the same again for the same seed, another for another', () => {
    expect(sameBits(playNoise(source, everything, COUNT), whole)).toBe(true);
    if (certain.includes(id)) return;
    expect(sameBits(playNoise(source, everything, COUNT, '8'), whole)).toBe(false);
  });

  it('does not hear whether the others are muted', () => {
    const others = Object.keys(rows).filter((other) => other !== id);
    const hears = (muted: readonly string[]) => {
      const document = joined(everything, ...muted.map((other) => rows[other].muted));
      return !sameBits(playNoise(source, document, COUNT), whole);
    };
    // All at once; only if that fails one by one, to name those that are heard.
    if (hears(others)) expect(others.filter((other) => hears([other]))).toEqual([]);
    expect(hears(others)).toBe(false);
  });

  it('is absent when muted', () => {
    expect(source.create(resolveScenario(joined(everything, rows[id].muted)), '7')).toBeNull();
  });

  it(`${locked.includes(id) ? 'follows' : 'has nothing to do with'} the stimulus`, () => {
    const other = { ...everything, stimulus: { ratePerS: 11.1, levelDbNhl: 50, polarity: 'rarefaction' } };
    expect(sameBits(playNoise(source, other, COUNT), whole)).toBe(!locked.includes(id));
  });
});
