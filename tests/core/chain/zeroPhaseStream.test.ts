import { describe, expect, it } from 'vitest';
import { bessel } from '../../../src/core/chain/bessel.ts';
import { delayLine } from '../../../src/core/chain/delayLine.ts';
import { butterworth, type Section } from '../../../src/core/chain/filters.ts';
import { zeroPhase } from '../../../src/core/chain/zeroPhase.ts';
import { zeroPhaseStream } from '../../../src/core/chain/zeroPhaseStream.ts';
import { fillGaussian, stream } from '../../../src/core/random/stream.ts';

const RATE = 16000;
const COUNT = 30_000;
const bands: [string, Section[]][] = [
  ['click band', [...butterworth('high-pass', 2, 100, RATE), ...butterworth('low-pass', 2, 1500, RATE)]],
  ['steep band', [...butterworth('high-pass', 4, 150, RATE), ...butterworth('low-pass', 8, 3000, RATE)]],
  ['Bessel band', [...bessel('high-pass', 2, 80, RATE), ...bessel('low-pass', 4, 1500, RATE)]],
];

function noise(name: string): Float64Array {
  const out = new Float64Array(COUNT);
  fillGaussian(stream('7', name), out, COUNT);
  return out.map((value) => 20 * value);
}

/** Runs both signals in pieces of the given size. */
function played(sections: readonly Section[], size: number): { signals: Float64Array[]; delay: number } {
  const filter = zeroPhaseStream(sections);
  const signals = [noise('here'), noise('there')];
  for (let from = 0; from < COUNT; from += size) {
    const cut = signals.map((signal) => signal.subarray(from, Math.min(COUNT, from + size)));
    filter.run(cut[0], cut[1], cut[0].length);
  }
  return { signals, delay: filter.delaySampleCount };
}

describe('zeroPhaseStream', () => {
  it.each(bands)('%s: gives what filtering the whole recording there and back gives', (_name, sections) => {
    const { signals, delay } = played(sections, 1024);
    for (const [c, name] of ['here', 'there'].entries()) {
      const whole = zeroPhase(sections, noise(name), 4000);
      // The far end of the whole recording is padded otherwise, and so is its beginning; in between they agree.
      for (let i = 3000; i + 2 * delay < COUNT; i++) {
        expect(Math.abs(signals[c][i + delay] - whole[i])).toBeLessThan(1e-5);
      }
    }
  });

  it.each([1, 37, 4096, COUNT])('gives the same bits in blocks of %i', (size) => {
    const [, sections] = bands[0];
    expect(played(sections, size)).toEqual(played(sections, 997));
  });

  it('hands on zeros for what came before the recording', () => {
    const { signals, delay } = played(bands[0][1], 1024);
    expect(signals[0].subarray(0, delay).every((value) => value === 0)).toBe(true);
    expect(signals[0][delay + 50]).not.toBe(0);
  });
});

describe('delayLine', () => {
  it.each([0, 1, 5])('%i samples', (delay) => {
    const line = delayLine(delay);
    const signal = Float64Array.from({ length: 20 }, (_, i) => i + 1);
    line.run(signal.subarray(0, 3), 3);
    line.run(signal.subarray(3), 17);
    expect([...signal]).toEqual(Array.from({ length: 20 }, (_, i) => Math.max(0, i + 1 - delay)));
  });
});
