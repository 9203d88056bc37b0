import { describe, expect, it } from 'vitest';
import {
  fillGaussian,
  nextExponential,
  nextGaussian,
  nextLogNormal,
  nextUniform,
  nextWord,
  stream,
} from '../../../src/core/random/stream.ts';
import {
  correlation,
  mean,
  median,
  normalCdf,
  normalTail,
  standardDeviation,
  standardError,
  variance,
} from '../sampleStatistics.ts';

function gaussians(seed: string, name: string, count: number, index = 0): Float64Array {
  const out = new Float64Array(count);
  fillGaussian(stream(seed, name, index), out, count);
  return out;
}

function drawn(count: number, draw: () => number): Float64Array {
  return Float64Array.from({ length: count }, draw);
}

/** (χ² − freedom) / √(2·freedom): standard errors from what chance alone would give. */
function chiSquareErrors(counts: ArrayLike<number>, expected: ArrayLike<number>): number {
  let chiSquare = 0;
  for (let k = 0; k < counts.length; k++) chiSquare += (counts[k] - expected[k]) ** 2 / expected[k];
  const freedom = counts.length - 1;
  return (chiSquare - freedom) / Math.sqrt(2 * freedom);
}

const MILLION = 1_000_000;
const normal = gaussians('7', 'test/normal', MILLION);

describe('fillGaussian', () => {
  it('gives the numbers that nextGaussian gives', () => {
    const single = stream('7', 'test/normal');
    for (let k = 0; k < 100_000; k++) if (nextGaussian(single) !== normal[k]) expect.fail(`number ${k} differs`);
  });

  it.each([[1], [2], [37], [1024], [4096]])('gives the same numbers in pieces of %i', (size) => {
    const state = stream('7', 'test/normal');
    const piece = new Float64Array(size);
    for (let from = 0; from + size <= 100_000; from += size) {
      fillGaussian(state, piece, size);
      for (let i = 0; i < size; i++) if (piece[i] !== normal[from + i]) expect.fail(`number ${from + i} differs`);
    }
  });

  it('leaves the stream where that many single draws leave it', () => {
    const filled = stream('7', 'mixed');
    const single = stream('7', 'mixed');
    fillGaussian(filled, new Float64Array(5000), 5000);
    for (let k = 0; k < 5000; k++) nextGaussian(single);
    expect([nextWord(filled), nextUniform(filled)]).toEqual([nextWord(single), nextUniform(single)]);
  });

  it('writes where it is told', () => {
    const [out, shifted] = [new Float64Array(8).fill(99), new Float64Array(8).fill(99)];
    fillGaussian(stream('7', 'short'), out, 5);
    fillGaussian(stream('7', 'short'), shifted, 5, 2);
    expect(Array.from(shifted)).toEqual([99, 99, ...out.subarray(0, 5), 99]);
    expect(Array.from(out.subarray(5))).toEqual([99, 99, 99]);
    expect(out.subarray(0, 5).every((value) => Math.abs(value) < 10)).toBe(true);
  });
});

describe('the normal numbers', () => {
  // Standard errors of the sample moments of n normal numbers: common knowledge, no source.
  const moments = [
    ['mean', mean(normal), 0, 1 / MILLION],
    ['variance', variance(normal), 1, 2 / MILLION],
    ['third moment', mean(normal.map((x) => x ** 3)), 0, 15 / MILLION],
    ['fourth moment', mean(normal.map((x) => x ** 4)), 3, 96 / MILLION],
    ['sixth moment', mean(normal.map((x) => x ** 6)), 15, (10395 - 225) / MILLION],
  ] as const;
  it.each(moments)('%s within 4 standard errors', (_name, value, expected, squaredError) => {
    expect(Math.abs(value - expected)).toBeLessThan(4 * Math.sqrt(squaredError));
  });

  it('fill 50 equally likely bins evenly: χ² within 4 standard errors', () => {
    const counts = new Float64Array(50);
    for (const x of normal) counts[Math.min(49, Math.floor(50 * normalCdf(x)))]++;
    expect(Math.abs(chiSquareErrors(counts, new Float64Array(50).fill(MILLION / 50)))).toBeLessThan(4);
  });

  it('stay close to the normal distribution everywhere (Kolmogorov–Smirnov at 0.1 %)', () => {
    const sorted = normal.slice().sort();
    let distance = 0;
    for (let k = 0; k < MILLION; k++)
      distance = Math.max(distance, Math.abs(normalCdf(sorted[k]) - (k + 0.5) / MILLION));
    expect(distance * Math.sqrt(MILLION)).toBeLessThan(1.95); // 1.95: limit of the distance for 0.1 %, from memory
  });

  it('agree in the fine structure near the edges of the ziggurat: 400 bins of ±4', () => {
    const counts = new Float64Array(400);
    for (const x of normal) if (Math.abs(x) < 4) counts[Math.floor((x + 4) * 50)]++;
    const expected = counts.map((_, k) => MILLION * (normalCdf((k + 1) / 50 - 4) - normalCdf(k / 50 - 4)));
    expect(Math.abs(chiSquareErrors(counts, expected))).toBeLessThan(4);
  });

  const far = gaussians('7', 'test/tails', 8 * MILLION);
  it.each([[2], [3], [3.65], [4], [4.03], [4.05], [4.2], [4.5]])(
    'exceed ±%d as often as they should: 4 standard errors',
    (limit) => {
      const expected = far.length * normalTail(limit);
      for (const side of [1, -1]) {
        let count = 0;
        for (const x of far) if (side * x > limit) count++;
        expect(Math.abs(count - expected), `side ${side}`).toBeLessThan(4 * Math.sqrt(expected));
      }
    },
  );

  it('have the tail of the bell beyond 4.05, in number and shape: 4 standard errors of 128 million', () => {
    const state = stream('7', 'test/far tail');
    const block = new Float64Array(MILLION);
    const excess: number[] = [];
    for (let k = 0; k < 128; k++) {
      fillGaussian(state, block, MILLION);
      for (const x of block) if (x > 4.05 || x < -4.05) excess.push(Math.abs(x) - 4.05);
    }
    const expected = 2 * normalTail(4.05) * 128 * MILLION;
    expect(Math.abs(excess.length - expected)).toBeLessThan(4 * Math.sqrt(expected));
    // E[x | x > r] = φ(r)/Q(r), E[x² | x > r] = 1 + r·φ(r)/Q(r): by parts, from memory.
    const ratio = Math.exp(-(4.05 ** 2) / 2) / Math.sqrt(2 * Math.PI) / normalTail(4.05);
    const expectedMean = ratio - 4.05;
    const expectedSquare = 1 + 4.05 * ratio - 2 * 4.05 * ratio + 4.05 ** 2;
    const squares = excess.map((x) => x * x);
    expect(Math.abs(mean(excess) - expectedMean)).toBeLessThan(4 * standardError(excess));
    expect(Math.abs(mean(squares) - expectedSquare)).toBeLessThan(4 * standardError(squares));
  });

  it('do not follow from each other: 4 standard errors at lags 1 to 20, of values and of sizes', () => {
    const sizes = normal.map(Math.abs);
    for (let lag = 1; lag <= 20; lag++) {
      expect(Math.abs(correlation(normal, normal, lag)), `values at lag ${lag}`).toBeLessThan(4 / Math.sqrt(MILLION));
      expect(Math.abs(correlation(sizes, sizes, lag)), `sizes at lag ${lag}`).toBeLessThan(4 / Math.sqrt(MILLION));
    }
  });
});

describe('stream', () => {
  it('gives the same numbers for the same name, others for any other', () => {
    const first = nextWord(stream('7', 'a/b', 1));
    expect(nextWord(stream('7', 'a/b', 1))).toBe(first);
    expect(nextWord(stream('7', 'a/b'))).toBe(nextWord(stream('7', 'a/b', 0)));
    const others = [stream('8', 'a/b', 1), stream('7', 'a/c', 1), stream('7', 'a/b', 2), stream('7a', '/b', 1)];
    for (const other of others) expect(nextWord(other)).not.toBe(first);
  });

  it('takes any text for a seed', () => {
    const firsts = ['', ' ', '0', '00', '"', '["7"]', 'ß', '\n', 'x'.repeat(1000)].map((seed) =>
      nextWord(stream(seed, 'n')),
    );
    expect(new Set(firsts).size).toBe(firsts.length);
  });

  const pairs = [
    ['names', ['7', 'eeg/background', 0], ['7', 'eeg/alpha', 0]],
    ['channels', ['7', 'eeg/background', 0], ['7', 'eeg/background', 1]],
    ['neighbouring seeds', ['1', 'eeg/background', 0], ['2', 'eeg/background', 0]],
    ['replicates', ['7', 'eeg/background', 0], ['7/1', 'eeg/background', 0]],
  ] as const;
  it.each(pairs)('is unrelated between %s: 4 standard errors at lags 0 to 5', (_what, a, b) => {
    const first = gaussians(a[0], a[1], 200_000, a[2]);
    const second = gaussians(b[0], b[1], 200_000, b[2]);
    for (let lag = 0; lag <= 5; lag++) {
      expect(Math.abs(correlation(first, second, lag))).toBeLessThan(4 / Math.sqrt(200_000));
    }
  });

  it('spreads neighbouring seeds and indices: the first draws of 10 000 are uniform and unrelated', () => {
    const bySeed = drawn(
      10_000,
      seedCounter((k) => stream(String(k), 'n')),
    );
    const byIndex = drawn(
      10_000,
      seedCounter((k) => stream('7', 'n', k)),
    );
    for (const firsts of [bySeed, byIndex]) {
      const counts = new Float64Array(50);
      for (const u of firsts) counts[Math.floor(50 * u)]++;
      expect(Math.abs(chiSquareErrors(counts, new Float64Array(50).fill(200)))).toBeLessThan(4);
      expect(Math.abs(correlation(firsts, firsts, 1))).toBeLessThan(4 / Math.sqrt(10_000));
    }
  });

  function seedCounter(open: (k: number) => ReturnType<typeof stream>): () => number {
    let k = 0;
    return () => nextUniform(open(k++));
  }

  it('draws words in which every bit is set half of the time: 4 standard errors', () => {
    const state = stream('7', 'bits');
    const set = new Float64Array(32);
    for (let k = 0; k < 100_000; k++) {
      const word = nextWord(state);
      for (let bit = 0; bit < 32; bit++) set[bit] += (word >>> bit) & 1;
    }
    for (const count of set) expect(Math.abs(count - 50_000)).toBeLessThan(4 * Math.sqrt(25_000));
  });
});

describe('the other distributions', () => {
  const state = stream('7', 'test/others');
  const count = 300_000;
  const uniform = drawn(count, () => nextUniform(state));
  const exponential = drawn(count, () => nextExponential(state));
  const logNormal = drawn(count, () => nextLogNormal(state, 25, 0.6));
  const root = Math.sqrt(count);

  it('uniform: within 0 and 1, never at either', () => {
    expect(uniform.every((u) => u > 0 && u < 1)).toBe(true);
    expect(Math.abs(mean(uniform) - 0.5)).toBeLessThan((4 * Math.sqrt(1 / 12)) / root);
    const counts = new Float64Array(100);
    for (const u of uniform) counts[Math.floor(100 * u)]++;
    expect(Math.abs(chiSquareErrors(counts, new Float64Array(100).fill(count / 100)))).toBeLessThan(4);
  });

  it('uniform: reaches neither end even with extreme bits', () => {
    expect(nextUniform(Int32Array.of(0, 0, 0, -1))).toBeGreaterThan(0);
    const allOnes = Int32Array.of(1, 0, 0, -2); // its first two words are −1: every bit is set
    expect(nextUniform(allOnes)).toBe(1 - 2 ** -53);
  });

  it('exponential: mean 1, variance 1, memoryless: 4 standard errors', () => {
    expect(Math.abs(mean(exponential) - 1)).toBeLessThan(4 / root);
    expect(Math.abs(variance(exponential) - 1)).toBeLessThan((4 * Math.sqrt(8)) / root);
    const beyond1 = exponential.filter((x) => x > 1);
    const beyond2 = exponential.filter((x) => x > 2);
    const share = Math.exp(-1);
    const error = Math.sqrt((share * (1 - share)) / beyond1.length);
    expect(Math.abs(beyond2.length / beyond1.length - share)).toBeLessThan(4 * error);
  });

  it('log-normal: median and spread of the logarithm as asked: 4 standard errors', () => {
    const logs = logNormal.map(Math.log);
    // √(π/2): the median's standard error relative to the mean's, common knowledge
    expect(Math.abs(median(logs) - Math.log(25))).toBeLessThan((4 * 0.6 * Math.sqrt(Math.PI / 2)) / root);
    expect(Math.abs(standardDeviation(logs) - 0.6)).toBeLessThan((4 * 0.6) / Math.sqrt(2 * count));
    expect(nextLogNormal(stream('7', 'n'), 25, 0)).toBe(25);
  });
});
