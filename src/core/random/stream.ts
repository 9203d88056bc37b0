import alea from 'seedrandom/lib/alea.js';
import { exp, log } from '../elementary.ts';

/**
 * A named stream of random numbers: the 128-bit state of an sfc32 generator, as four 32-bit words.
 *
 * `seedrandom` turns the name into the state; sfc32 (C. Doty-Humphrey, PractRand, public domain) draws from it,
 * because it is five times faster and uses whole-number arithmetic only.
 */
export type Stream = Int32Array;

/**
 * Opens the stream that belongs to one purpose of one recording.
 *
 * Two streams with different names share nothing: switching one noise source off leaves every other draw as it was.
 *
 * @param seed - session seed   @param name - purpose, e.g. 'muscle/onset'   @param index - channel or part
 * @example nextUniform(stream('7', 'muscle/onset')) // the same number on every machine
 */
export function stream(seed: string, name: string, index = 0): Stream {
  const source = alea(JSON.stringify([seed, name, index]));
  const state = Int32Array.of(source.int32(), source.int32(), source.int32(), 1);
  for (let k = 0; k < 12; k++) nextWord(state); // mixes the words, as the generator's author advises
  return state;
}

/** Draws 32 random bits as a signed whole number. */
export function nextWord(state: Stream): number {
  const sum = (state[0] + state[1] + state[3]) | 0;
  state[3] = (state[3] + 1) | 0;
  state[0] = state[1] ^ (state[1] >>> 9);
  state[1] = (state[2] + (state[2] << 3)) | 0;
  state[2] = (((state[2] << 21) | (state[2] >>> 11)) + sum) | 0;
  return sum;
}

/** Draws a uniform number, 0 < u < 1, with 52 random bits. */
export function nextUniform(state: Stream): number {
  const high = nextWord(state) >>> 6; // 26 bits
  const low = nextWord(state) >>> 6;
  return (high * 67108864 + low + 0.5) / 4503599627370496;
}

/** Draws from the exponential distribution with mean 1. */
export function nextExponential(state: Stream): number {
  return -log(nextUniform(state));
}

/** Draws from the standard normal distribution. */
export function nextGaussian(state: Stream): number {
  const word = nextWord(state);
  const value = word >> LAYER_BITS;
  const layer = word & (LAYERS - 1);
  return Math.abs(value) < LIMIT[layer] ? value * SCALE[layer] : finishGaussian(state, value, layer);
}

/** Draws a log-normal number with the given median and standard deviation of its logarithm. */
export function nextLogNormal(state: Stream, median: number, logSd: number): number {
  return median * exp(logSd * nextGaussian(state));
}

/**
 * Fills `out[from … from + count)` with standard normal numbers: those that `count` calls of `nextGaussian` would give.
 *
 * Ziggurat of 1024 layers (G. Marsaglia and W. W. Tsang, J. Stat. Softw. 5(8), 2000, doi 10.18637/jss.v005.i08),
 * with layer and value taken from separate bits (J. A. Doornik's correction). The generator is written out in the loop
 * with its state in locals. The size of the value is taken by arithmetic on whole numbers: a branch on its random sign
 * is guessed wrong every other time, 4.9 against 2.0 ns a number (`npm run bench`).
 */
export function fillGaussian(state: Stream, out: Float64Array, count: number, from = 0): void {
  let a = state[0];
  let b = state[1];
  let c = state[2];
  let d = state[3];
  const limit = LIMIT;
  const scale = SCALE;
  const to = from + count;
  for (let i = from; i < to; i++) {
    const word = (a + b + d) | 0;
    d = (d + 1) | 0;
    a = b ^ (b >>> 9);
    b = (c + (c << 3)) | 0;
    c = (((c << 21) | (c >>> 11)) + word) | 0;
    const value = word >> LAYER_BITS;
    const layer = word & (LAYERS - 1);
    const sign = value >> 31; // 0 or −1
    out[i] = value * scale[layer];
    if ((value ^ sign) - sign >= limit[layer]) {
      state[0] = a;
      state[1] = b;
      state[2] = c;
      state[3] = d;
      out[i] = finishGaussian(state, value, layer);
      a = state[0];
      b = state[1];
      c = state[2];
      d = state[3];
    }
  }
  state[0] = a;
  state[1] = b;
  state[2] = c;
  state[3] = d;
}

// The ziggurat covers half the bell e^(−x²/2) with layers of equal area v; the lowest holds the tail beyond r.
// 1024 layers send 0.4 % of the draws to `finishGaussian`, 256 send 1.5 %: 2.1 against 2.7 ns a number. r and v close the
// topmost layer at height 1: Marsaglia & Tsang's condition, solved by scipy.optimize.brentq with scipy.special.erfc.
const LAYER_BITS = 10;
const LAYERS = 1024;
const TAIL_START = 4.038849846109508; // r
const LAYER_AREA = 0.0012263246463530728; // v
const VALUE_RANGE = 2097152; // |word >> 10| ≤ 2^21

const SCALE = new Float64Array(LAYERS); // layer width / 2^21
const LIMIT = new Int32Array(LAYERS); // values below this are certainly under the bell
const HEIGHT = new Float64Array(LAYERS); // bell height at the layer's outer edge
fillZigguratTables();

function fillZigguratTables(): void {
  const bell = (x: number) => exp(-0.5 * x * x);
  // edge[k] falls with k: edge[1] = r, layer 0 is the base strip whose nominal width is v / f(r)
  const edge = new Float64Array(LAYERS + 1);
  edge[0] = LAYER_AREA / bell(TAIL_START);
  edge[1] = TAIL_START;
  for (let k = 2; k < LAYERS; k++) edge[k] = Math.sqrt(-2 * log(LAYER_AREA / edge[k - 1] + bell(edge[k - 1])));
  edge[LAYERS] = 0;
  for (let k = 0; k < LAYERS; k++) {
    SCALE[k] = edge[k] / VALUE_RANGE;
    LIMIT[k] = Math.floor((edge[k + 1] / edge[k]) * VALUE_RANGE);
    HEIGHT[k] = bell(edge[k]);
  }
}

/** Settles the 0.4 % of draws that fall outside the layer's certain part: tail, wedge, or another try. */
function finishGaussian(state: Stream, firstValue: number, firstLayer: number): number {
  let value = firstValue;
  let layer = firstLayer;
  for (;;) {
    const x = value * SCALE[layer];
    if (Math.abs(value) < LIMIT[layer]) return x;
    if (layer === 0) return value < 0 ? -nextTail(state) : nextTail(state);
    const top = layer + 1 < LAYERS ? HEIGHT[layer + 1] : 1;
    if (HEIGHT[layer] + nextUniform(state) * (top - HEIGHT[layer]) < exp(-0.5 * x * x)) return x;
    const word = nextWord(state);
    value = word >> LAYER_BITS;
    layer = word & (LAYERS - 1);
  }
}

/** Draws |x| > r from the normal tail (Marsaglia 1964). */
function nextTail(state: Stream): number {
  for (;;) {
    const x = nextExponential(state) / TAIL_START;
    if (2 * nextExponential(state) > x * x) return TAIL_START + x;
  }
}
