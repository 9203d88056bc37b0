import { describe, expect, it } from 'vitest';
import { noiseSources } from '../../../src/core/noise/index.ts';
import type { NoiseSource } from '../../../src/core/noise/noiseSource.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { rms } from '../sampleStatistics.ts';
import { playNoise } from './playNoise.ts';

const COUNT = 20_000;

/** Everything at once, and often. */
const everything = {
  eeg: { alphaUv: 5 },
  muscle: { burstsPerS: 5, durationS: 0.1 },
  child: {
    present: true,
    quiet: { dwellS: 0.2 },
    restless: { dwellS: 0.2 },
    moving: { dwellS: 0.1 },
  },
  drift: { stepsPerS: 5 },
  amplifier: { flickerCornerHz: 50 },
};

/** What silences each source, so that the others can be muted around it. */
const mutes: Record<string, object> = {
  eeg: { eeg: { slowUv: 0, alphaUv: 0, floorNvPerRtHz: 0 } },
  muscle: { muscle: { burstsPerS: 0 } },
  child: { child: { present: false } },
  mains: { mains: { fundamentalUv: 0 } },
  drift: { drift: { walkUvPerRtS: 0, stepsPerS: 0 } },
  amplifier: { amplifier: { noiseNvPerRtHz: 0 } },
};

/** Plays a source over `base` in pieces whose lengths come round and round. */
function inPieces(source: NoiseSource, lengths: readonly number[], base = 0): [Float64Array, Float64Array] {
  const playing = source.create(resolveScenario(everything), '7')!;
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

it('has sources with ids of their own, each of which the mute table knows', () => {
  expect(noiseSources.map(({ id }) => id).sort()).toEqual(Object.keys(mutes).sort());
  for (const { label } of noiseSources) expect(label).toMatch(/^[A-Z]/);
});

describe.each(noiseSources.map((source) => [source.id, source] as const))('noise source %s', (id, source) => {
  const whole = playNoise(source, everything, COUNT);

  it('is there, finite, in both channels, which differ', () => {
    for (const channel of whole) {
      expect(channel.every(Number.isFinite)).toBe(true);
      expect(rms(channel)).toBeGreaterThan(0);
    }
    expect(whole[0]).not.toEqual(whole[1]);
  });

  it.each([[[1]], [[37]], [[1024]], [[4096]], [[1, 31, 32, 33, 700, 5, 4096, 2]]])(
    'gives the same bits in blocks of %j',
    (lengths) => {
      expect(inPieces(source, lengths)).toEqual(whole);
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
    expect(playNoise(source, everything, COUNT)).toEqual(whole);
    expect(playNoise(source, everything, COUNT, '8')).not.toEqual(whole);
  });

  it.each(Object.keys(mutes).filter((other) => other !== id))('does not hear whether %s is muted', (other) => {
    const sections = structuredClone(everything) as Record<string, object>;
    for (const [section, keys] of Object.entries(mutes[other])) sections[section] = { ...sections[section], ...keys };
    expect(playNoise(source, sections, COUNT)).toEqual(whole);
  });

  it('is absent when muted', () => {
    const sections = structuredClone(everything) as Record<string, object>;
    for (const [section, keys] of Object.entries(mutes[id])) sections[section] = { ...sections[section], ...keys };
    expect(source.create(resolveScenario(sections), '7')).toBeNull();
  });

  it('has nothing to do with the stimulus', () => {
    const other = { ...everything, stimulus: { ratePerS: 11.1, levelDbNhl: 30, polarity: 'rarefaction' } };
    expect(playNoise(source, other, COUNT)).toEqual(whole);
  });
});
