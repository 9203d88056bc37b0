import { describe, expect, it } from 'vitest';
import { cosineOfCycles, exp, log, PI, power, sineOfCycles, tanh } from '../../src/core/elementary.ts';

const view = new DataView(new ArrayBuffer(8));

/** How many doubles lie between two numbers of the same sign. */
function ulpsApart(a: number, b: number): number {
  const bits = [a, b].map((x) => {
    view.setFloat64(0, Math.abs(x));
    return view.getBigInt64(0);
  });
  return Math.sign(a) === Math.sign(b) || a === b ? Math.abs(Number(bits[0] - bits[1])) : Infinity;
}

/** The largest distance from the engine's own function over 20 001 points, and where. */
function worst(ours: (x: number) => number, theirs: (x: number) => number, point: (share: number) => number) {
  let ulps = 0;
  let at = NaN;
  for (let k = 0; k <= 20000; k++) {
    const x = point(k / 20000);
    const apart = ulpsApart(ours(x), theirs(x));
    if (!(apart <= ulps)) {
      ulps = apart;
      at = x;
    }
  }
  return { ulps, at };
}

const between = (from: number, to: number) => (share: number) => from + (to - from) * share;
const decades = (from: number, to: number) => (share: number) => 10 ** (from + (to - from) * share);

// The engine's own functions are within 1 unit in the last place of the true value (common practice, no source).
const ranges = [
  // name, why, ours, theirs, points, ulps allowed
  ['exp', 'every result that is a normal number', exp, Math.exp, between(-708, 709.7), 2],
  ['exp', 'where filters and decays use it', exp, Math.exp, between(-1, 1), 2],
  ['exp', 'results so small that they lose digits', exp, Math.exp, between(-745, -708.5), 2],
  ['exp', 'next to 1', exp, Math.exp, decades(-300, -1), 2],
  ['log', 'every size', log, Math.log, decades(-307, 308), 3],
  ['log', 'around its zero, where digits could cancel', log, Math.log, between(0.5, 2), 3],
  ['log', 'right at its zero', log, Math.log, (share: number) => 1 + (share - 0.5) * 1e-9, 3],
  ['log', 'denormal arguments', log, Math.log, (share: number) => 5e-324 * (1 + Math.round(share * 1e6)), 3],
  ['tanh', 'both ends, where it is ±1', tanh, Math.tanh, between(-21, 21), 4],
  ['tanh', 'the middle', tanh, Math.tanh, between(-0.5, 0.5), 4],
  ['tanh', 'small arguments, where e − 1 would lose digits', tanh, Math.tanh, decades(-12, -1), 4],
] as const;

describe('elementary functions against those of the engine', () => {
  it.each(ranges)('%s: %s', (_name, _why, ours, theirs, point, allowed) => {
    const { ulps, at } = worst(ours, theirs, point);
    expect(ulps, `units in the last place at ${at}`).toBeLessThanOrEqual(allowed);
  });

  it('power: relative error stays below (2 + |y·ln x|) · 2^−52', () => {
    for (const base of [1e-10, 0.3, 0.999, 1.5, 10, 1e10]) {
      for (const exponent of [-20, -1, -0.5, 0, 0.5, 1, 3, 20]) {
        const allowed = (2 + Math.abs(exponent * Math.log(base))) * 2 ** -52;
        expect(Math.abs(power(base, exponent) / base ** exponent - 1), `${base}^${exponent}`).toBeLessThan(allowed);
      }
    }
  });

  it('sineOfCycles and cosineOfCycles: within 5·2^−53 over ±2 turns, of which 2 are the oracle’s', () => {
    for (let k = 0; k <= 40000; k++) {
      const turns = -2 + k / 10000;
      const rest = turns - Math.round(turns); // Math.sin of the whole angle would itself lose digits
      expect(Math.abs(sineOfCycles(turns) - Math.sin(2 * Math.PI * rest))).toBeLessThan(5 * 2 ** -53);
      expect(Math.abs(cosineOfCycles(turns) - Math.cos(2 * Math.PI * rest))).toBeLessThan(5 * 2 ** -53);
    }
  });
});

const specialValues = [
  // call, value, expected, why
  ['exp(0)', exp(0), 1, 'exact'],
  ['exp(-0)', exp(-0), 1, 'exact'],
  ['exp(NaN)', exp(NaN), NaN, 'passed on'],
  ['exp(∞)', exp(Infinity), Infinity, 'limit'],
  ['exp(−∞)', exp(-Infinity), 0, 'limit'],
  ['exp(710)', exp(710), Infinity, 'overflow'],
  ['exp(−746)', exp(-746), 0, 'underflow'],
  ['exp(−745.1)', exp(-745.1), 5e-324, 'the smallest number there is'],
  ['log(1)', log(1), 0, 'exact'],
  ['log(0)', log(0), -Infinity, 'limit'],
  ['log(−1)', log(-1), NaN, 'not real'],
  ['log(NaN)', log(NaN), NaN, 'passed on'],
  ['log(∞)', log(Infinity), Infinity, 'limit'],
  ['log(5e−324)', log(5e-324), Math.log(5e-324), 'smallest argument'],
  ['power(2, 0)', power(2, 0), 1, 'exact'],
  ['tanh(0)', tanh(0), 0, 'exact'],
  ['tanh(NaN)', tanh(NaN), NaN, 'passed on'],
  ['tanh(∞)', tanh(Infinity), 1, 'limit'],
  ['tanh(−∞)', tanh(-Infinity), -1, 'limit'],
  ['sineOfCycles(NaN)', sineOfCycles(NaN), NaN, 'passed on'],
  ['sineOfCycles(∞)', sineOfCycles(Infinity), NaN, 'no phase'],
  ['cosineOfCycles(−∞)', cosineOfCycles(-Infinity), NaN, 'no phase'],
  ['PI', PI, Math.PI, 'the nearest double'],
] as const;

describe('elementary functions at special values', () => {
  it.each(specialValues)('%s', (_call, value, expected, why) => {
    expect(value, why).toBe(expected);
  });
});

describe('sineOfCycles and cosineOfCycles', () => {
  it('are exact at quarter turns, as far out as a phase can be told', () => {
    for (const turns of [0, 1, -1, 7, 1e6, -1e6, 2 ** 40]) {
      const sines = [0, 0.25, 0.5, 0.75].map((quarter) => sineOfCycles(turns + quarter) + 0); // + 0: −0 is 0
      const cosines = [0, 0.25, 0.5, 0.75].map((quarter) => cosineOfCycles(turns + quarter) + 0);
      expect(sines, `${turns} turns`).toEqual([0, 1, 0, -1]);
      expect(cosines, `${turns} turns`).toEqual([1, 0, -1, 0]);
    }
  });

  it('drop whole turns exactly', () => {
    for (const turn of [0.125, 0.375, -0.3125, 0.4375]) {
      expect(sineOfCycles(turn + 1048576)).toBe(sineOfCycles(turn));
      expect(cosineOfCycles(turn - 1048576)).toBe(cosineOfCycles(turn));
    }
  });

  it('are odd and even, and never leave −1 … 1', () => {
    for (let k = 0; k <= 5000; k++) {
      const turns = k / 5000;
      expect(sineOfCycles(-turns) + sineOfCycles(turns)).toBe(0);
      expect(cosineOfCycles(-turns)).toBe(cosineOfCycles(turns));
      expect(Math.abs(sineOfCycles(turns))).toBeLessThanOrEqual(1);
      expect(Math.abs(cosineOfCycles(turns))).toBeLessThanOrEqual(1);
    }
  });
});
