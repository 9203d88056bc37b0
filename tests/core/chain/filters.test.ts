import { describe, expect, it } from 'vitest';
import { butterworth, coupling, filterCascade, notch, type Section } from '../../../src/core/chain/filters.ts';
import { fillGaussian, stream } from '../../../src/core/random/stream.ts';

const RATE = 16000;

/** |H| of a cascade at one frequency, from the definition of the sections. */
function magnitude(sections: readonly Section[], hz: number, rate = RATE): number {
  const angle = (2 * Math.PI * hz) / rate;
  return sections.reduce((product, { b0, b1, b2, a1, a2 }) => {
    const top = [b0 + b1 * Math.cos(angle) + b2 * Math.cos(2 * angle), b1 * Math.sin(angle) + b2 * Math.sin(2 * angle)];
    const low = [1 + a1 * Math.cos(angle) + a2 * Math.cos(2 * angle), a1 * Math.sin(angle) + a2 * Math.sin(2 * angle)];
    return (product * Math.hypot(top[0], top[1])) / Math.hypot(low[0], low[1]);
  }, 1);
}

function noise(count: number, name: string): Float64Array {
  const out = new Float64Array(count);
  fillGaussian(stream('7', name), out, count);
  return out;
}

const orders = [1, 2, 3, 4, 5, 6, 7, 8];

describe('butterworth', () => {
  it.each(orders)('order %i: the Butterworth magnitude at every frequency, both kinds', (order) => {
    for (const cornerHz of [0.5, 100, 1500, 7000]) {
      for (const hz of [0.1, 1, 50, 100, 400, 1500, 3000, 7900]) {
        // Bilinear transform: the analogue magnitude at tan(π·f/rate). Any textbook of digital filters.
        const ratio = Math.tan((Math.PI * hz) / RATE) / Math.tan((Math.PI * cornerHz) / RATE);
        const low = 1 / Math.sqrt(1 + ratio ** (2 * order));
        const high = 1 / Math.sqrt(1 + ratio ** (-2 * order));
        const message = `corner ${cornerHz} Hz at ${hz} Hz`;
        expect(Math.abs(magnitude(butterworth('low-pass', order, cornerHz, RATE), hz) - low), message).toBeLessThan(
          1e-6,
        );
        expect(Math.abs(magnitude(butterworth('high-pass', order, cornerHz, RATE), hz) - high), message).toBeLessThan(
          1e-6,
        );
      }
    }
  });

  it.each(orders)('order %i: −3 dB at the corner, 6 dB per octave and order beyond', (order) => {
    const low = butterworth('low-pass', order, 100, RATE);
    const high = butterworth('high-pass', order, 400, RATE);
    expect(magnitude(low, 100)).toBeCloseTo(Math.SQRT1_2, 9);
    expect(magnitude(high, 400)).toBeCloseTo(Math.SQRT1_2, 9);
    const decibel = (ratio: number) => 20 * Math.log10(ratio);
    expect(decibel(magnitude(low, 400) / magnitude(low, 800)) / (6.02 * order)).toBeCloseTo(1, 1);
    expect(decibel(magnitude(high, 100) / magnitude(high, 50)) / (6.02 * order)).toBeCloseTo(1, 1);
  });

  it.each(orders)('order %i: is stable and uses as few sections as it can', (order) => {
    for (const cornerHz of [0.05, 100, 7999]) {
      for (const kind of ['low-pass', 'high-pass'] as const) {
        const sections = butterworth(kind, order, cornerHz, RATE);
        expect(sections).toHaveLength(Math.ceil(order / 2));
        // Stability triangle of a second-order denominator.
        for (const { a1, a2 } of sections) {
          expect(Math.abs(a2)).toBeLessThan(1);
          expect(Math.abs(a1)).toBeLessThan(1 + a2);
        }
      }
    }
  });

  const bad = [
    // kind, order, corner, message, why
    ['low-pass', 0, 100, 'butterworth: order must be 1 to 8, got 0', 'no filter'],
    ['low-pass', 9, 100, 'butterworth: order must be 1 to 8, got 9', 'too steep'],
    ['low-pass', 2.5, 100, 'butterworth: order must be 1 to 8, got 2.5', 'half an order'],
    ['low-pass', NaN, 100, 'butterworth: order must be 1 to 8, got NaN', 'NaN fails'],
    ['low-pass', 2, 0, 'butterworth: cornerHz must lie between 0 and 8000 Hz, got 0', 'nothing left'],
    [
      'high-pass',
      2,
      8000,
      'butterworth: cornerHz must lie between 0 and 8000 Hz, got 8000',
      'at the Nyquist frequency',
    ],
    ['high-pass', 2, -1, 'butterworth: cornerHz must lie between 0 and 8000 Hz, got -1', 'negative'],
    ['high-pass', 2, NaN, 'butterworth: cornerHz must lie between 0 and 8000 Hz, got NaN', 'NaN fails'],
  ] as const;
  it.each(bad)('refuses %s of order %d at %d Hz', (kind, order, cornerHz, message, why) => {
    expect(() => butterworth(kind, order, cornerHz, RATE), why).toThrow(new RangeError(message));
  });
});

describe('notch', () => {
  it.each([
    [50, 20],
    [60, 5],
    [1000, 50],
    [400, 1],
  ])('%d Hz, Q %d: nothing there, everything far away, −3 dB over f/Q', (hz, q) => {
    const section = [notch(hz, q, RATE)];
    expect(magnitude(section, hz)).toBeLessThan(1e-9);
    expect(magnitude(section, 0)).toBeCloseTo(1, 9);
    expect(magnitude(section, RATE / 2)).toBeCloseTo(1, 9);
    const edge = (from: number, to: number) => {
      let [inside, outside] = [from, to];
      for (let k = 0; k < 60; k++) {
        const middle = (inside + outside) / 2;
        if (magnitude(section, middle) < Math.SQRT1_2) inside = middle;
        else outside = middle;
      }
      return inside;
    };
    expect((edge(hz, 8 * hz) - edge(hz, 0)) / (hz / q)).toBeCloseTo(1, 1);
  });

  it.each([[0], [8000], [-50], [NaN]])('refuses %d Hz', (hz) => {
    expect(() => notch(hz, 20, RATE)).toThrow(
      new RangeError(`notch: notchHz must lie between 0 and 8000 Hz, got ${hz}`),
    );
  });
});

describe('coupling', () => {
  it('blocks a constant and lets a step fade with 1/(2π·corner)', () => {
    const step = new Float64Array(RATE).fill(1);
    filterCascade([coupling(0.5, RATE)]).run(step, new Float64Array(RATE), RATE);
    const timeConstantS = 1 / (2 * Math.PI * 0.5);
    for (const seconds of [0.1, 0.3183, 0.9]) {
      expect(step[Math.round(seconds * RATE)]).toBeCloseTo(Math.exp(-seconds / timeConstantS), 3);
    }
  });
});

/** The plain difference equation of each section, direct form I, one sample at a time. */
function direct(sections: readonly Section[], signal: Float64Array): Float64Array {
  let input = signal;
  for (const { b0, b1, b2, a1, a2 } of sections) {
    const output = new Float64Array(input.length);
    for (let i = 0; i < input.length; i++) {
      output[i] =
        b0 * input[i] +
        b1 * (input[i - 1] ?? 0) +
        b2 * (input[i - 2] ?? 0) -
        a1 * (output[i - 1] ?? 0) -
        a2 * (output[i - 2] ?? 0);
    }
    input = output;
  }
  return input;
}

describe('filterCascade', () => {
  const sections = [
    coupling(0.5, RATE),
    ...butterworth('high-pass', 3, 100, RATE),
    ...butterworth('low-pass', 4, 1500, RATE),
    notch(50, 20, RATE),
  ];
  const count = 5000;
  const inputs = [noise(count, 'first'), noise(count, 'second')];

  it('equals the plain difference equation, within rounding', () => {
    const outputs = inputs.map((input) => input.slice());
    filterCascade(sections).run(outputs[0], outputs[1], count);
    for (const [c, input] of inputs.entries()) {
      const expected = direct(sections, input);
      for (let i = 0; i < count; i++) expect(Math.abs(outputs[c][i] - expected[i])).toBeLessThan(1e-10);
    }
  });

  it.each([[1], [37], [1024], [4096]])('gives the same bits in blocks of %i', (size) => {
    const whole = inputs.map((input) => input.slice());
    filterCascade(sections).run(whole[0], whole[1], count);
    const pieces = inputs.map((input) => input.slice());
    const cascade = filterCascade(sections);
    for (let from = 0; from < count; from += size) {
      const length = Math.min(size, count - from);
      cascade.run(pieces[0].subarray(from, from + length), pieces[1].subarray(from, from + length), length);
    }
    expect(pieces).toEqual(whole);
  });

  it('keeps the two signals apart, and writes no further than it is told', () => {
    const alone = inputs[0].slice();
    filterCascade(sections).run(alone, new Float64Array(count), count);
    const [first, second] = inputs.map((input) => input.slice());
    filterCascade(sections).run(first, second, count - 10);
    expect(first.subarray(0, count - 10)).toEqual(alone.subarray(0, count - 10));
    expect(first.subarray(count - 10)).toEqual(inputs[0].subarray(count - 10));
  });

  it('keeps two cascades apart', () => {
    const [one, other] = [filterCascade(sections), filterCascade(sections)];
    one.run(inputs[0].slice(), inputs[1].slice(), count);
    const fresh = inputs[0].slice();
    other.run(fresh, inputs[1].slice(), count);
    const expected = inputs[0].slice();
    filterCascade(sections).run(expected, inputs[1].slice(), count);
    expect(fresh).toEqual(expected);
  });

  it('without sections changes nothing', () => {
    const signal = inputs[0].slice();
    filterCascade([]).run(signal, inputs[1].slice(), count);
    expect(signal).toEqual(inputs[0]);
  });
});
