import { describe, expect, it } from 'vitest';
import { recordingChain } from '../../../src/core/chain/chain.ts';
import { fillGaussian, stream } from '../../../src/core/random/stream.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';

const COUNT = 12_000;

function inputs(sizeUv: number): [Float64Array, Float64Array] {
  const pair = ['here', 'there'].map((name) => {
    const out = new Float64Array(COUNT);
    fillGaussian(stream('7', name), out, COUNT);
    return out.map((value) => sizeUv * value);
  });
  return pair as [Float64Array, Float64Array];
}

const chainOf = (document: object) => recordingChain(resolveScenario(document));

describe('recordingChain', () => {
  it('records what truth says, to a few LSB, while nothing clips', () => {
    const document = { converter: { bits: 24 }, filter: { notchHz: 50 } };
    const chain = chainOf(document);
    const [recorded, truth] = [inputs(5), inputs(5)];
    chain.recordUv(recorded, 0, COUNT);
    chain.truthUv(truth, COUNT);
    const lsbUv = 200 / 2 ** 24;
    for (const c of [0, 1]) {
      for (let i = 0; i < COUNT; i++) expect(Math.abs(recorded[c][i] - truth[c][i])).toBeLessThan(4 * lsbUv);
    }
  });

  it('truth is linear: it adds and it scales, whatever its size', () => {
    const [one, large] = [inputs(1), inputs(1000)];
    chainOf({}).truthUv(one, COUNT);
    chainOf({}).truthUv(large, COUNT);
    for (let i = 0; i < COUNT; i++) expect(Math.abs(large[0][i] - 1000 * one[0][i])).toBeLessThan(1e-9);
  });

  it('record and truth do not share their memory', () => {
    const document = { converter: { bits: 24 } };
    const [busy, fresh] = [chainOf(document), chainOf(document)];
    busy.recordUv(inputs(5), 0, COUNT);
    const [first, second] = [inputs(1), inputs(1)];
    busy.truthUv(first, COUNT);
    fresh.truthUv(second, COUNT);
    expect(first).toEqual(second);
  });

  it('couples before the gain: a constant far beyond the range fades and is no overload in the end', () => {
    const chain = chainOf({ amplifier: { couplingHz: 10, rangeUv: 100, recoveryMs: 5 }, converter: { guardMs: 1 } });
    const block = [new Float64Array(16_000).fill(5000), new Float64Array(16_000)];
    chain.recordUv(block, 0, 16_000);
    expect(chain.flagged(0, 0, 1000), 'at first').toBe(true);
    expect(chain.flagged(0, 8000, 16_000), 'later').toBe(false);
  });

  it('flags each channel on its own', () => {
    const chain = chainOf({ converter: { guardMs: 5 } });
    const block = [new Float64Array(2000), new Float64Array(2000)];
    block[1].fill(500, 1000, 1010);
    chain.recordUv(block, 0, 2000);
    expect([chain.flagged(0, 0, 2000), chain.flagged(1, 0, 2000)]).toEqual([false, true]);
    expect([chain.flagged(1, 0, 1000), chain.flagged(1, 1005, 1010)]).toEqual([false, true]);
    chain.forgetBefore(1900);
    expect(chain.flagged(1, 0, 2000)).toBe(false);
  });

  it.each([[1], [37], [1024], [4096]])('gives the same bits and flags in blocks of %i', (size) => {
    const document = { amplifier: { rangeUv: 50, blockingMs: 2, blockAfterMs: 1 }, converter: { guardMs: 2 } };
    const [whole, pieces] = [inputs(40), inputs(40)];
    const [truth, truthPieces] = [inputs(1), inputs(1)];
    const [first, second] = [chainOf(document), chainOf(document)];
    first.recordUv(whole, 0, COUNT);
    first.truthUv(truth, COUNT);
    for (let from = 0; from < COUNT; from += size) {
      const count = Math.min(size, COUNT - from);
      const cut = (pair: Float64Array[]) => pair.map((channel) => channel.subarray(from, from + count));
      second.recordUv(cut(pieces), from, count);
      second.truthUv(cut(truthPieces), count);
    }
    expect(pieces).toEqual(whole);
    expect(truthPieces).toEqual(truth);
    for (let i = 0; i < COUNT; i += 10) {
      for (const c of [0, 1]) expect(second.flagged(c, i, i + 10)).toBe(first.flagged(c, i, i + 10));
    }
  });
});
