import { describe, expect, it } from 'vitest';
import { frontEnd } from '../../../src/core/chain/frontEnd.ts';
import { fillGaussian, stream } from '../../../src/core/random/stream.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';

const RATE = 16000;
const RANGE_UV = 50;
const MS = RATE / 1000;

function stageOf(amplifier: object = {}, converter: object = {}) {
  return frontEnd(resolveScenario({ amplifier: { rangeUv: RANGE_UV, ...amplifier }, converter }));
}

/** Runs pieces [duration in ms, input in µV] one after the other. */
function run(pieces: readonly (readonly [number, number])[], amplifier: object = {}, converter: object = {}) {
  const stage = stageOf(amplifier, converter);
  const signal = Float64Array.from(pieces.flatMap(([ms, uv]) => Array<number>(Math.round(ms * MS)).fill(uv)));
  stage.run(signal, 0, signal.length);
  return { stage, signal };
}

describe('frontEnd: within range', () => {
  it.each([[8], [12], [16], [24]])('%i bits: rounds to the nearest code, half an LSB at most', (bits) => {
    const lsbUv = (2 * RANGE_UV) / 2 ** bits;
    const input = Float64Array.from({ length: 20_001 }, (_, i) => (RANGE_UV - 2 * lsbUv) * (i / 10_000 - 1));
    const output = input.slice();
    stageOf({}, { bits }).run(output, 0, output.length);
    for (let i = 0; i < input.length; i++) {
      if (!(Math.abs(output[i] - input[i]) <= lsbUv / 2 + 1e-12)) expect.fail(`${input[i]} became ${output[i]}`);
      expect(Math.abs(output[i] / lsbUv - Math.round(output[i] / lsbUv))).toBeLessThan(1e-6);
    }
  });

  it('8 bits: uses every code, and nothing but codes', () => {
    const signal = Float64Array.from({ length: 100_000 }, (_, i) => 60 * (i / 50_000 - 1));
    stageOf({ recoveryMs: 2000 }, { bits: 8 }).run(signal, 0, signal.length);
    expect(new Set(signal).size).toBe(256);
    expect(Math.min(...new Set(signal))).toBe(-50);
    expect(Math.max(...new Set(signal))).toBe((50 * 127) / 128);
  });

  it('raises no flag for a signal that stays two codes clear of the rails', () => {
    const noise = new Float64Array(100_000);
    fillGaussian(stream('7', 'test/clean'), noise, noise.length);
    for (let i = 0; i < noise.length; i++) noise[i] = Math.max(-49.99, Math.min(49.99, 15 * noise[i]));
    const stage = stageOf();
    stage.run(noise, 0, noise.length);
    expect(stage.flagged(0, noise.length)).toBe(false);
  });
});

describe('frontEnd: overload', () => {
  it.each([[1], [-1]])('saturates at the rail of its sign (%i)', (sign) => {
    const { signal } = run([[20, sign * 500]]);
    const rail = sign > 0 ? RANGE_UV - (2 * RANGE_UV) / 65536 : -RANGE_UV;
    expect(signal.every((value) => value === rail)).toBe(true);
  });

  it('leaves a tail of the other sign that fades with the recovery time', () => {
    const recoveryMs = 50;
    for (const sign of [1, -1]) {
      // Driven to 80 µV for long: the offset settles at half of the excess, −15 µV (b = −(v − R)/2, by hand).
      const { signal } = run(
        [
          [1000, sign * 80],
          [300, 0],
        ],
        { recoveryMs },
      );
      for (const ms of [1, 25, 50, 100, 200]) {
        const expected = -sign * 15 * Math.exp(-ms / recoveryMs);
        expect(Math.abs(signal[(1000 + ms) * MS] - expected), `${ms} ms`).toBeLessThan(0.02 * 15 + 0.001);
      }
    }
  });

  it('a short overload leaves a small tail', () => {
    const tail = (ms: number) =>
      Math.abs(
        run([
          [ms, 80],
          [10, 0],
        ]).signal[ms * MS + 1],
      );
    expect(tail(1)).toBeLessThan(0.1 * tail(100));
    expect(tail(1)).toBeGreaterThan(0.1);
  });

  it('is linear again once the tail has faded', () => {
    const { signal } = run(
      [
        [5, 80],
        [2000, 0],
        [5, 12.34],
      ],
      { recoveryMs: 50 },
    );
    expect(Math.abs(signal[signal.length - 1] - 12.34)).toBeLessThan(RANGE_UV / 65536 + 1e-12);
  });
});

describe('frontEnd: blocking', () => {
  const blocking = { blockAfterMs: 5, blockingMs: 20, recoveryMs: 1 };
  const rail = RANGE_UV - (2 * RANGE_UV) / 65536;

  /** Milliseconds at the rail after the input has gone back to 0. */
  function stuckMs(overloadMs: number, amplifier: object): number {
    const { signal } = run(
      [
        [overloadMs, 80],
        [200, 0],
      ],
      amplifier,
    );
    let end = overloadMs * MS;
    while (signal[end] === rail) end++;
    return end / MS - overloadMs;
  }

  const cases = [
    // overload ms, expected ms, why
    [4, 0, 'too short to block'],
    [5, 20, 'just long enough'],
    [50, 20, 'blocking counts from the end of the overload'],
  ] as const;
  it.each(cases)('an overload of %d ms blocks for %d ms', (overloadMs, expected, why) => {
    expect(Math.abs(stuckMs(overloadMs, blocking) - expected), why).toBeLessThanOrEqual(1 / MS);
  });

  it('never blocks where blockingMs is 0', () => {
    expect(stuckMs(50, { ...blocking, blockingMs: 0 })).toBeLessThanOrEqual(1 / MS);
  });

  it('stays frozen where it was, whatever the input does meanwhile', () => {
    const { signal } = run(
      [
        [10, 80],
        [3, 0],
        [3, -80],
        [3, 20],
        [100, 0],
      ],
      blocking,
    );
    expect(signal.subarray(0, 29 * MS).every((value) => value === rail)).toBe(true);
    expect(Math.abs(signal[40 * MS])).toBeLessThan(1);
  });

  it('two short overloads with a pause do not add up to a long one', () => {
    const { signal } = run(
      [
        [4, 80],
        [1, 0],
        [4, 80],
        [5, 0],
      ],
      blocking,
    );
    expect(Math.abs(signal[10 * MS])).toBeLessThan(RANGE_UV);
  });
});

describe('frontEnd: over-range flag', () => {
  const guardMs = 10;
  const noTail = { recoveryMs: 1 };

  /** First sample and the one after the last that is flagged; null if none is. */
  function flaggedStretch(inputUv: readonly number[], bits = 16): [number, number] | null {
    const stage = stageOf(noTail, { guardMs, bits });
    const signal = new Float64Array(1000);
    signal.set(inputUv, 100);
    stage.run(signal, 5000, 1000);
    const flags = Array.from({ length: 1000 }, (_, i) => stage.flagged(5000 + i, 5001 + i));
    return flags.includes(true) ? [5000 + flags.indexOf(true), 5001 + flags.lastIndexOf(true)] : null;
  }

  const guard = guardMs * MS;
  const cases = [
    // input from sample 5100 on, flagged stretch, why
    [[60], null, 'one code at the rail is no over-range'],
    [[60, 60], null, 'nor are two'],
    [[60, 60, 0, 60, 60], null, 'nor are two and two'],
    [[60, 60, 60], [5100, 5103 + guard], 'three are, from the first of them until the guard time after the last'],
    [[-60, -60, -60], [5100, 5103 + guard], 'the same below'],
    [Array(50).fill(60), [5100, 5150 + guard], 'as long as it lasts'],
    [Array(20).fill(49.999), [5100, 5120 + guard], 'within one code of the rail counts'],
    [Array(20).fill(49.997), [5100, 5120 + guard], 'code 32766 of 32767'],
    [Array(20).fill(-49.9985), [5100, 5120 + guard], 'code −32767 of −32768'],
    [Array(20).fill(-49.996), null, 'code −32765'],
    [Array(20).fill(49.995), null, 'code 32765'],
    [Array(20).fill(49.99), null, 'two codes clear does not: 1 LSB is 0.0015 µV'],
    [
      [...Array(3).fill(60), ...Array(100).fill(0), ...Array(3).fill(60)],
      [5100, 5206 + guard],
      'a second one within the guard time prolongs it',
    ],
  ] as const;
  it.each(cases)('%j: %j', (input, expected, why) => {
    expect(flaggedStretch(input), why).toEqual(expected);
  });

  it('asks about stretches: touching is not overlapping', () => {
    const stage = stageOf(noTail, { guardMs });
    const signal = new Float64Array(1000);
    signal.fill(60, 100, 103);
    stage.run(signal, 0, 1000);
    expect(stage.flagged(0, 100), 'ends where it begins').toBe(false);
    expect(stage.flagged(0, 101)).toBe(true);
    expect(stage.flagged(103 + guard - 1, 900)).toBe(true);
    expect(stage.flagged(103 + guard, 900), 'begins where it ends').toBe(false);
    expect(stage.flagged(0, 1000), 'around it').toBe(true);
  });

  it('remembers several stretches, and forgets only what is over', () => {
    const stage = stageOf(noTail, { guardMs });
    const signal = new Float64Array(4000);
    for (const at of [100, 1100, 2100]) signal.fill(60, at, at + 5);
    stage.run(signal, 0, 4000);
    stage.forgetBefore(1100 + 20);
    expect([stage.flagged(1000, 1200), stage.flagged(2000, 2200), stage.flagged(1300, 2000)]).toEqual([
      true,
      true,
      false,
    ]);
    expect(stage.flagged(0, 300)).toBe(false);
  });
});

describe('frontEnd: streaming and strange input', () => {
  const input = new Float64Array(20_000);
  fillGaussian(stream('7', 'test/overload'), input, input.length);
  for (let i = 0; i < input.length; i++) input[i] = 15 * input[i] + (Math.floor(i / 500) % 4 === 0 ? 70 : 0);
  const amplifier = { blockAfterMs: 1, blockingMs: 3, recoveryMs: 5 };

  it.each([[1], [37], [1024], [4096]])('gives the same bits and flags in blocks of %i', (size) => {
    const [whole, pieces] = [input.slice(), input.slice()];
    const [first, second] = [stageOf(amplifier, { guardMs: 2 }), stageOf(amplifier, { guardMs: 2 })];
    first.run(whole, 0, whole.length);
    for (let from = 0; from < pieces.length; from += size) {
      const count = Math.min(size, pieces.length - from);
      second.run(pieces.subarray(from, from + count), from, count);
    }
    expect(pieces).toEqual(whole);
    let flaggedCount = 0;
    for (let i = 0; i < 20_000; i += 20) {
      const flagged = first.flagged(i, i + 20);
      if (second.flagged(i, i + 20) !== flagged) expect.fail(`flag of sample ${i} differs`);
      if (flagged) flaggedCount++;
    }
    expect(flaggedCount).toBeGreaterThan(100);
    expect(flaggedCount).toBeLessThan(900);
  });

  it.each([[1e300], [-1e300], [5e-324], [Infinity], [NaN]])('comes to an end with %d in the input', (strange) => {
    const stage = stageOf();
    const signal = new Float64Array(1000).fill(strange, 100, 200);
    stage.run(signal, 0, 1000);
    expect(stage.flagged(0, 100)).toBe(false);
    if (Math.abs(strange) < Infinity) expect(signal.every(Number.isFinite)).toBe(true);
  });
});
