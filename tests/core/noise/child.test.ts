import { describe, expect, it } from 'vitest';
import { child } from '../../../src/core/noise/child.ts';
import { mean, median, rms, standardDeviation, standardError } from '../sampleStatistics.ts';
import { playInBlocks, playNoise } from './playNoise.ts';

const slow = { converter: { sampleRateHz: 1000 }, filter: { lowPassHz: 400 } };
const STATES = ['quiet', 'restless', 'moving'] as const;
type State = (typeof STATES)[number];

// The default patient: model values of the child state model.
const DWELL_S = { quiet: 25, restless: 8, moving: 3 };
// Stationary shares of the jumps, by hand: solve π = π·J for Q→R .7, Q→M .3; R→Q .7, R→M .3; M→Q .4, M→R .6.
const MOVING = 0.3 / 1.3;
const QUIET = 0.7 / 1.7 + ((0.4 - 0.7) / 1.7) * MOVING;
const VISITS: Record<State, number> = { quiet: QUIET, restless: 1 - QUIET - MOVING, moving: MOVING };

const WINDOW = 100; // samples: 0.1 s
const WINDOWS = 200_000; // 20 000 s

/** Plays a child whose muscles are silent but in one state; says for each 0.1 s how large they are, µV rms. */
function activity(state: State, spellLogSd: number): Float64Array {
  const silent = { muscleUv: 0 };
  const section = {
    present: true,
    quiet: silent,
    restless: silent,
    moving: silent,
    spellLogSd,
    [state]: { muscleUv: 100 },
  };
  const sizes = new Float64Array(WINDOWS);
  playInBlocks(child, { ...slow, child: section }, WINDOWS * WINDOW, 500 * WINDOW, ([here], start) => {
    for (let w = 0; w < 500; w++) sizes[start / WINDOW + w] = rms(here.subarray(w * WINDOW, (w + 1) * WINDOW));
  });
  return sizes;
}

/** Lengths of the runs above a limit, in windows, and where they begin. */
function runs(sizes: Float64Array, limit: number): { from: number; length: number }[] {
  const found: { from: number; length: number }[] = [];
  for (let w = 0; w < sizes.length; w++) {
    if (!(sizes[w] > limit)) continue;
    const from = w;
    while (w < sizes.length && sizes[w] > limit) w++;
    found.push({ from, length: w - from });
  }
  return found;
}

describe.each(STATES)('child: %s spells', (state) => {
  // Half of the size: the smooth rise and fall of 50 ms pass it alike, so lengths keep their mean.
  const sizes = activity(state, 0);
  const spells = runs(sizes, 50);
  const cycleS = STATES.reduce((sum, each) => sum + VISITS[each] * DWELL_S[each], 0);

  it('last as long as told on average, gamma distributed of shape 2: 4 standard errors', () => {
    const lengthsS = spells.map(({ length }) => (length * WINDOW) / 1000);
    const sd = DWELL_S[state] / Math.SQRT2; // shape 2
    const root = Math.sqrt(lengthsS.length);
    expect(Math.abs(mean(lengthsS) - DWELL_S[state])).toBeLessThan((4 * sd) / root + 0.05); // 0.05 s: half a window
    // The fourth moment of a gamma of shape 2 is 6 σ⁴ (excess kurtosis 3): the variance errs by σ²·√(5/n).
    expect(Math.abs(standardDeviation(lengthsS) ** 2 / sd ** 2 - 1)).toBeLessThan((4 * Math.sqrt(5)) / root + 0.02);
  });

  it('come as often as the jumps make them: 4 standard errors', () => {
    const expected = ((WINDOWS * WINDOW) / 1000 / cycleS) * VISITS[state];
    // Renewal count: variance at most n·(cv of the return time)²; the return time is a geometric number of spells, cv < 1.
    expect(Math.abs(spells.length - expected)).toBeLessThan(4 * Math.sqrt(expected));
  });

  it('take the share of time of semi-Markov theory: 4 standard errors', () => {
    const expected = (VISITS[state] * DWELL_S[state]) / cycleS;
    const shares = Array.from({ length: 20 }, (_, k) => {
      const piece = sizes.subarray((k * WINDOWS) / 20, ((k + 1) * WINDOWS) / 20);
      return piece.reduce((sum, size) => sum + (size > 50 ? 1 : 0), 0) / piece.length;
    });
    const se = standardError(shares);
    expect(se / expected, 'sharp enough to tell').toBeLessThan(0.15);
    expect(Math.abs(mean(shares) - expected)).toBeLessThan(4 * se);
  });

  it('have the size of their state: 4 standard errors', () => {
    const inner = spells.flatMap(({ from, length }) => Array.from(sizes.subarray(from + 8, from + length - 8)));
    const powers = inner.map((size) => size * size);
    expect(Math.abs(mean(powers) - 100 ** 2)).toBeLessThan(4 * standardError(powers));
  });
});

describe('child: from spell to spell', () => {
  const sizes = activity('restless', 0.5);
  const logs = runs(sizes, 2).flatMap(({ from, length }) => {
    const inner = sizes.subarray(from + 8, from + length - 8);
    return inner.length > 20 ? [Math.log(rms(inner))] : [];
  });

  it('sizes are log-normal about the median of the state: 4 standard errors', () => {
    const se = 0.5 / Math.sqrt(logs.length);
    expect(logs.length).toBeGreaterThan(300);
    expect(Math.abs(median(logs) - Math.log(100))).toBeLessThan(4 * se * Math.sqrt(Math.PI / 2));
    expect(Math.abs(standardDeviation(logs) - 0.5)).toBeLessThan((4 * se) / Math.SQRT2 + 0.01);
  });
});

describe('child: smoothness and channels', () => {
  it('follows a change of state within 50 ms, without a jump', () => {
    const [silent, loud] = [0, 100].map((muscleUv) => ({ muscleUv, dwellS: 2 }));
    const document = {
      child: { present: true, quiet: silent, restless: silent, moving: loud, spellLogSd: 0 },
      muscle: { lowHz: 500, highHz: 3000 }, // a fast carrier tells the size at once
    };
    const [here] = playNoise(child, document, 600 * 16000);
    const bySize = Array.from({ length: 600 * 200 }, (_, w) => rms(here.subarray(w * 80, (w + 1) * 80))); // 5 ms each
    const falls: number[][] = [];
    for (let w = 100; w < bySize.length - 60; w++) {
      const before = rms(bySize.slice(w - 60, w));
      const after = rms(bySize.slice(w + 40, w + 60));
      if (before > 80 && after < 2 && bySize[w] < 60) {
        falls.push(bySize.slice(w - 20, w + 60));
        w += 100;
      }
    }
    expect(falls.length).toBeGreaterThan(30);
    // e-folding: from half-way down, the size falls by e in 50 ms (10 windows), in power by e².
    const power = Array.from({ length: 80 }, (_, i) => mean(falls.map((fall) => fall[i] ** 2)));
    const start = power.findIndex((value) => value < 0.3 * 100 ** 2);
    const ratio = Math.sqrt(power[start + 20] / power[start]);
    expect(Math.abs(Math.log(ratio) + 2)).toBeLessThan(0.5);
  });

  it('is independent in the two channels, in the contralateral gain', () => {
    const document = { child: { present: true, spellLogSd: 0, quiet: { muscleUv: 10, dwellS: 600 } } };
    const [here, there] = playNoise(child, document, 60 * 16000);
    const pieces = Array.from({ length: 60 }, (_, k) => {
      const [a, b] = [here, there].map((channel) => channel.subarray(k * 16000, (k + 1) * 16000));
      return { product: mean(a.map((value, i) => value * b[i])), ratio: rms(b) / rms(a) };
    });
    const products = pieces.map(({ product }) => product);
    expect(Math.abs(mean(products))).toBeLessThan(4 * standardError(products));
    const ratios = pieces.map(({ ratio }) => ratio);
    expect(Math.abs(mean(ratios) - 0.8)).toBeLessThan(4 * standardError(ratios) + 0.002); // 0.002: bias of a ratio
  });
});
