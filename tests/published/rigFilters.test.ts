import { describe, expect, it } from 'vitest';
import { butterworth, filterCascade, type Section } from '../../src/core/chain/filters.ts';
import { resolveScenario } from '../../src/core/scenario/resolve.ts';
import { startSession } from '../../src/core/session/session.ts';
import { responseAt } from './cascadeResponse.ts';

// Ids and sources stand beside each check. [H02–H08] S. Winder (author from memory), Analog and Digital Filter Design,
// table 3.2, p. 95, found; [H11–H18] the same, table A.3, p. 423, found; [H21–H24, H30] the Butterworth formula, derived.

const RATE = 64_000;
const CORNER_HZ = 200; // so far below the rate that the bilinear transform bends nothing
const lowPass = (order: number) => butterworth('low-pass', order, CORNER_HZ, RATE);
const power = (sections: readonly Section[], hz: number) => {
  const { re, im } = responseAt(sections, hz, RATE);
  return re * re + im * im;
};

/** Poles of the analogue prototype, back through the bilinear transform: s = (z − 1)/(z + 1)/Ω, as [−re, |im|]. */
function polesOf(sections: readonly Section[]): [number, number][] {
  const omega = Math.tan((Math.PI * CORNER_HZ) / RATE);
  return sections.map(({ a1, a2 }) => {
    if (a2 === 0) return [(1 + a1) / (1 - a1) / omega, 0];
    const [re, im] = [-a1 / 2, Math.sqrt(a2 - (a1 * a1) / 4)];
    const below = (re + 1) ** 2 + im ** 2;
    return [-((re - 1) * (re + 1) + im * im) / below / omega, (2 * im) / below / omega];
  });
}

describe('Butterworth poles', () => {
  const tables = [
    ['H02', 2, [[0.7071, 0.7071]]],
    [
      'H03',
      3,
      [
        [0.5, 0.866],
        [1, 0],
      ],
    ],
    [
      'H04',
      4,
      [
        [0.9239, 0.3827],
        [0.3827, 0.9239],
      ],
    ],
    [
      'H05',
      5,
      [
        [0.809, 0.5878],
        [0.309, 0.9511],
        [1, 0],
      ],
    ],
    [
      'H06',
      6,
      [
        [0.9659, 0.2588],
        [0.7071, 0.7071],
        [0.2588, 0.9659],
      ],
    ],
    [
      'H08',
      8,
      [
        [0.9808, 0.1951],
        [0.8315, 0.5556],
        [0.5556, 0.8315],
        [0.1951, 0.9808],
      ],
    ],
  ] as const;
  it.each(tables)('%s: order %i', (_id, order, expected) => {
    const byImaginary = (a: readonly number[], b: readonly number[]) => a[1] - b[1];
    const found = polesOf(lowPass(order)).sort(byImaginary);
    for (const [k, [re, im]] of [...expected].sort(byImaginary).entries()) {
      expect(Math.abs(found[k][0] - re)).toBeLessThan(6e-5); // four digits are printed
      expect(Math.abs(found[k][1] - im)).toBeLessThan(6e-5);
    }
  });
});

describe('Butterworth low-pass', () => {
  const bandwidths = [
    ['H11', 1, 1.570796],
    ['H12', 2, 1.110721],
    ['H13', 3, 1.047198],
    ['H14', 4, 1.026172],
    ['H15', 5, 1.016641],
    ['H16', 6, 1.011515],
    ['H18', 8, 1.006455],
  ] as const;
  it.each(bandwidths)('%s: order %i lets as much noise through as a band %d times its own', (_id, order, expected) => {
    const sections = lowPass(order);
    const stepHz = 2;
    let sum = 0;
    for (let hz = stepHz / 2; hz < RATE / 2; hz += stepHz) sum += power(sections, hz) * stepHz;
    // Order 1 is so flat beyond its corner that the bilinear transform tells: the band is Ω/(1 + Ω) instead of Ω.
    expect(Math.abs(sum / CORNER_HZ / expected - 1)).toBeLessThan(order === 1 ? 0.0099 : 0.0005);
  });

  const attenuations = [
    ['H21', 1, 6.9897],
    ['H22', 2, 12.3045],
    ['H23', 3, 18.1291],
    ['H24', 4, 24.0993],
  ] as const;
  it.each(attenuations)('%s: order %i takes %d dB at twice its corner', (_id, order, expectedDb) => {
    const foundDb = -10 * Math.log10(power(lowPass(order), 2 * CORNER_HZ));
    expect(Math.abs(foundDb - expectedDb)).toBeLessThan(0.01); // the bilinear transform adds 0.005 dB
  });

  it.each([1, 2, 4, 8])('H30: order %i takes 3.0103 dB at its corner, high-pass too', (order) => {
    for (const sections of [lowPass(order), butterworth('high-pass', order, CORNER_HZ, RATE)]) {
      expect(-10 * Math.log10(power(sections, CORNER_HZ))).toBeCloseTo(3.0103, 4);
    }
  });
});

describe('a steep high-pass on slow activity', () => {
  const rateHz = 8000;

  /** Extrema, larger than a tenth, of one slow bell at 15 ms after it has gone through: [time in ms, size]. */
  function extremaThrough(order: number, hz: number): [number, number][] {
    const bell = Float64Array.from({ length: 4000 }, (_, i) => Math.exp(-0.5 * ((i / 8 - 50 - 15) / 8) ** 2));
    filterCascade(butterworth('high-pass', order, hz, rateHz)).run(bell, new Float64Array(4000), 4000);
    const found: [number, number][] = [];
    for (let i = 1; i < 3999; i++) {
      const turns = (bell[i] - bell[i - 1]) * (bell[i + 1] - bell[i]) < 0;
      if (turns && Math.abs(bell[i]) > 0.1) found.push([i / 8 - 50, bell[i]]);
    }
    return found;
  }

  it('rings like Na, Pa and Nb that are not there [H37: Audiology Japan 29, 1986, 51: abstract, found]', () => {
    expect(extremaThrough(1, 0.5)).toHaveLength(1);
    expect(extremaThrough(1, 5)).toHaveLength(2); // the undershoot that every high-pass makes
    for (const hz of [20, 25]) {
      const [na, pa, nb] = extremaThrough(4, hz); // 24 dB per octave
      expect([na[1] < 0, pa[1] > 0, nb[1] < 0]).toEqual([true, true, true]);
      // Bounds of J15 and J16 (handbook consensus, memory) and common practice for Nb, widened by half.
      expect(na[0] > 15 / 1.5 && na[0] < 20 * 1.5).toBe(true);
      expect(pa[0] > 25 / 1.5 && pa[0] < 35 * 1.5).toBe(true);
      expect(nb[0] > 40 / 1.5 && nb[0] < 50 * 1.5).toBe(true);
    }
  });
});

describe('wave V of a click through the chain, against a band of 1 Hz to 25 kHz', () => {
  const wide = { highPassHz: 1, highPassOrder: 1, lowPassHz: 25_600, lowPassOrder: 1 };

  /** Latency by parabola, and size to the following trough, µV. */
  function waveV(filter: object): { ms: number; sizeUv: number } {
    const session = startSession(
      resolveScenario({
        session: { durationS: 1 },
        stimulus: { ratePerS: 20, polarity: 'condensation' },
        response: { latencyJitterMs: 0, amplitudeLogSd: 0 },
        converter: { sampleRateHz: RATE },
        amplifier: { couplingHz: 0.01 },
        filter: { ...wide, ...filter },
      }),
      '1',
    );
    let truthUv = new Float64Array(0);
    for (let k = 0; k < 8; k++) truthUv = (session.nextSweep()?.truthUv[0] ?? truthUv) as Float64Array<ArrayBuffer>;
    const at = (ms: number) => Math.round((ms + 5) * (RATE / 1000));
    let peak = at(4.7);
    for (let i = at(4.7); i < at(5.8); i++) if (truthUv[i] > truthUv[peak]) peak = i;
    const [before, top, after] = [truthUv[peak - 1], truthUv[peak], truthUv[peak + 1]];
    const ms = (peak + (before - after) / (2 * (before - 2 * top + after))) / (RATE / 1000) - 5;
    const trough = truthUv.subarray(peak, at(9)).reduce((least, value) => Math.min(least, value), Infinity);
    return { ms, sizeUv: top - trough };
  }
  const open = waveV({});
  const shiftMs = (filter: object) => waveV(filter).ms - open.ms;

  // Design figures of this project, from memory of practice: +0.10 to 0.15 ms, and 0.1 to 0.3 ms earlier.
  it('a causal low-pass at 1500 Hz, 12 dB per octave, makes it 0.10 to 0.15 ms late', () => {
    expect(shiftMs({ lowPassHz: 1500, lowPassOrder: 2 })).toBeGreaterThan(0.1);
    expect(shiftMs({ lowPassHz: 1500, lowPassOrder: 2 })).toBeLessThan(0.15);
    expect(shiftMs({ lowPassHz: 1500, lowPassOrder: 2, family: 'bessel' })).toBeLessThan(0.15);
  });

  it('a causal high-pass raised from 100 to 300 Hz makes it 0.1 to 0.3 ms earlier and takes half its size', () => {
    const [low, high] = [100, 300].map((highPassHz) => waveV({ highPassHz, highPassOrder: 2 }));
    expect(low.ms - high.ms).toBeGreaterThan(0.1);
    expect(low.ms - high.ms).toBeLessThan(0.3);
    expect(high.sizeUv / low.sizeUv).toBeLessThan(0.75);
  });

  it('zero-phase filters move it by a few hundredths only, and cost as much size', () => {
    const zero = { phase: 'zero-phase' };
    expect(Math.abs(shiftMs({ ...zero, lowPassHz: 1500, lowPassOrder: 2 }))).toBeLessThan(0.02);
    expect(Math.abs(shiftMs({ ...zero, highPassHz: 100, highPassOrder: 2 }))).toBeLessThan(0.05);
    expect(waveV({ ...zero, highPassHz: 300, highPassOrder: 2 }).sizeUv / open.sizeUv).toBeLessThan(0.6);
  });

  it('the corners of the usual band pull in opposite directions and nearly cancel', () => {
    expect(Math.abs(shiftMs({ highPassHz: 100, highPassOrder: 2, lowPassHz: 1500, lowPassOrder: 2 }))).toBeLessThan(
      0.05,
    );
  });
});
