import { cosineOfCycles, sineOfCycles } from '../elementary.ts';

/** One second-order section: y = b0·x + b1·x[−1] + b2·x[−2] − a1·y[−1] − a2·y[−2]. */
export interface Section {
  b0: number;
  b1: number;
  b2: number;
  a1: number;
  a2: number;
}

/**
 * Designs a Butterworth low- or high-pass by the bilinear transform, as second-order sections.
 *
 * With Ω = tan(π·corner/rate), each pole pair of damping d = 2·sin((2k + 1)·π/2n) gives the analogue section
 * Ω²/(s² + d·Ω·s + Ω²) (low) or s²/(…) (high); an odd order adds one first-order section.
 *
 * @param kind - 'low-pass' or 'high-pass'   @param order - 1 … 8   @param cornerHz - −3 dB point, below rate/2
 * @returns sections to run one after the other
 * @throws {RangeError} if the corner does not lie between 0 and half the sample rate, or the order is not 1 … 8
 * @see tests/published/butterworth.test.ts compares the responses with SciPy's
 */
export function butterworth(
  kind: 'low-pass' | 'high-pass',
  order: number,
  cornerHz: number,
  sampleRateHz: number,
): Section[] {
  if (!(order >= 1 && order <= 8 && Number.isInteger(order))) {
    throw new RangeError(`butterworth: order must be 1 to 8, got ${order}`);
  }
  if (!(cornerHz > 0 && cornerHz < sampleRateHz / 2)) {
    throw new RangeError(`butterworth: cornerHz must lie between 0 and ${sampleRateHz / 2} Hz, got ${cornerHz}`);
  }
  const half = cornerHz / sampleRateHz / 2; // turns
  const omega = sineOfCycles(half) / cosineOfCycles(half);
  const sections: Section[] = [];
  for (let k = 0; k < Math.floor(order / 2); k++) {
    const damping = 2 * sineOfCycles((2 * k + 1) / (4 * order));
    const norm = 1 / (1 + damping * omega + omega * omega);
    const a1 = 2 * (omega * omega - 1) * norm;
    const a2 = (1 - damping * omega + omega * omega) * norm;
    if (kind === 'low-pass') {
      const gain = omega * omega * norm;
      sections.push({ b0: gain, b1: 2 * gain, b2: gain, a1, a2 });
    } else {
      sections.push({ b0: norm, b1: -2 * norm, b2: norm, a1, a2 });
    }
  }
  if (order % 2 === 1) {
    const norm = 1 / (1 + omega);
    const a1 = (omega - 1) * norm;
    if (kind === 'low-pass') sections.push({ b0: omega * norm, b1: omega * norm, b2: 0, a1, a2: 0 });
    else sections.push({ b0: norm, b1: -norm, b2: 0, a1, a2: 0 });
  }
  return sections;
}

/**
 * Designs a notch: a second-order section that removes one frequency.
 *
 *     H(s) = (s² + ω₀²) / (s² + s·ω₀/Q + ω₀²), by the bilinear transform; −3 dB width = notchHz / Q
 */
export function notch(notchHz: number, q: number, sampleRateHz: number): Section {
  if (!(notchHz > 0 && notchHz < sampleRateHz / 2)) {
    throw new RangeError(`notch: notchHz must lie between 0 and ${sampleRateHz / 2} Hz, got ${notchHz}`);
  }
  // The half-width is pre-warped as the centre is: SciPy's iirnotch does the same.
  const halfWidth = notchHz / q / sampleRateHz / 2;
  const beta = sineOfCycles(halfWidth) / cosineOfCycles(halfWidth);
  const gain = 1 / (1 + beta);
  const middle = -2 * cosineOfCycles(notchHz / sampleRateHz) * gain;
  return { b0: gain, b1: middle, b2: gain, a1: middle, a2: 2 * gain - 1 };
}

/** First-order high-pass of the input coupling. */
export function coupling(cornerHz: number, sampleRateHz: number): Section {
  return butterworth('high-pass', 1, cornerHz, sampleRateHz)[0];
}

/** A cascade of sections that runs over two signals in place and remembers where it was. */
export interface FilterCascade {
  run(signal0: Float64Array, signal1: Float64Array, count: number): void;
}

/**
 * Makes a running filter for a pair of signals.
 *
 *     w = x − a1·w[−1] − a2·w[−2],   y = w + b1·w[−1] + b2·w[−2]   (direct form II, gain taken out in front)
 *
 * Both signals go through one loop: each recurrence waits for its own last result, and two of them fill the gaps. A
 * second-order low-pass and high-pass together have the zeros (1 + z⁻¹)²·(1 − z⁻¹)² = (1 − z⁻²)², so each such pair runs
 * as two sections with y = w − w[−2]. 0.7 to 0.9 ns a sample and section, 1.2 in transposed form; two sections with shared
 * zeros in one loop 1.1 ns together (`npm run bench`).
 */
export function filterCascade(sections: readonly Section[]): FilterCascade {
  const stages: { kernel: Kernel; coefficients: Float64Array; state: Float64Array }[] = [];
  const left = withSharedZeros(sections);
  while (left.length > 0) {
    const [section, next] = left;
    const two = next && kernelFor(section) === runSharedZeros && kernelFor(next) === runSharedZeros && next.b0 === 1;
    left.splice(0, two ? 2 : 1);
    stages.push({
      kernel: two ? runTwoSharedZeros : kernelFor(section),
      coefficients: two
        ? Float64Array.of(section.b0, section.a1, section.a2, next.a1, next.a2)
        : Float64Array.of(section.b0, section.b1, section.b2, section.a1, section.a2),
      state: new Float64Array(two ? 8 : 4), // w[−1] and w[−2] of each signal
    });
  }
  return {
    run(signal0, signal1, count) {
      for (const { kernel, coefficients, state } of stages) kernel(coefficients, state, signal0, signal1, count);
    },
  };
}

/** Takes the gains out of the numerators, in front, and gives each low-pass with its high-pass the zeros of 1 − z⁻². */
function withSharedZeros(sections: readonly Section[]): Section[] {
  const monic = sections.map((section) => ({
    ...section,
    b0: 1,
    b1: section.b1 / section.b0,
    b2: section.b2 / section.b0,
  }));
  const withZeros = (b1: number) => monic.filter((section) => section.b1 === b1 && section.b2 === 1);
  const lowPasses = withZeros(2);
  const highPasses = withZeros(-2);
  for (let k = 0; k < lowPasses.length && k < highPasses.length; k++) {
    for (const section of [lowPasses[k], highPasses[k]]) {
      section.b1 = 0;
      section.b2 = -1;
    }
  }
  if (monic.length > 0) monic[0].b0 = sections.reduce((product, { b0 }) => product * b0, 1);
  return monic;
}

/**
 * Runs one section over both signals in place.
 *
 * @param coefficients - gain, b1, b2, a1, a2: from a typed array, since numbers that come as parameters or fields may
 *   stay boxed through the whole loop, and whether they do varies from run to run: 2.4 or 4.8 ns a sample of truth
 */
type Kernel = (
  coefficients: Float64Array,
  state: Float64Array,
  signal0: Float64Array,
  signal1: Float64Array,
  count: number,
) => void;

function kernelFor({ b1, b2, a2 }: Section): Kernel {
  if (b2 === 0 && a2 === 0) return runFirstOrder;
  return b1 === 0 && b2 === -1 ? runSharedZeros : runSecondOrder;
}

/** A first-order section over both signals; of each pair of states the first is used. */
export function runFirstOrder(
  coefficients: Float64Array,
  state: Float64Array,
  signal0: Float64Array,
  signal1: Float64Array,
  count: number,
): void {
  const gain = coefficients[0];
  const b1 = coefficients[1];
  const a1 = coefficients[3];
  let last0 = state[0];
  let last1 = state[2];
  for (let i = 0; i < count; i++) {
    const now0 = gain * signal0[i] - a1 * last0;
    const now1 = gain * signal1[i] - a1 * last1;
    signal0[i] = now0 + b1 * last0;
    signal1[i] = now1 + b1 * last1;
    last0 = now0;
    last1 = now1;
  }
  state[0] = last0;
  state[2] = last1;
}

function runSecondOrder(
  coefficients: Float64Array,
  state: Float64Array,
  signal0: Float64Array,
  signal1: Float64Array,
  count: number,
): void {
  const gain = coefficients[0];
  const b1 = coefficients[1];
  const b2 = coefficients[2];
  const a1 = coefficients[3];
  const a2 = coefficients[4];
  let last0 = state[0];
  let before0 = state[1];
  let last1 = state[2];
  let before1 = state[3];
  for (let i = 0; i < count; i++) {
    // The newest result comes last in the sum: the rest is ready before it.
    const now0 = gain * signal0[i] - a2 * before0 - a1 * last0;
    const now1 = gain * signal1[i] - a2 * before1 - a1 * last1;
    signal0[i] = now0 + (b1 * last0 + b2 * before0);
    signal1[i] = now1 + (b1 * last1 + b2 * before1);
    before0 = last0;
    before1 = last1;
    last0 = now0;
    last1 = now1;
  }
  state[0] = last0;
  state[1] = before0;
  state[2] = last1;
  state[3] = before1;
}

function runSharedZeros(
  coefficients: Float64Array,
  state: Float64Array,
  signal0: Float64Array,
  signal1: Float64Array,
  count: number,
): void {
  const gain = coefficients[0];
  const a1 = coefficients[3];
  const a2 = coefficients[4];
  let last0 = state[0];
  let before0 = state[1];
  let last1 = state[2];
  let before1 = state[3];
  for (let i = 0; i < count; i++) {
    const now0 = gain * signal0[i] - a2 * before0 - a1 * last0;
    const now1 = gain * signal1[i] - a2 * before1 - a1 * last1;
    signal0[i] = now0 - before0;
    signal1[i] = now1 - before1;
    before0 = last0;
    before1 = last1;
    last0 = now0;
    last1 = now1;
  }
  state[0] = last0;
  state[1] = before0;
  state[2] = last1;
  state[3] = before1;
}

/** Two sections, one after the other, in one loop: the second has work while the first waits for its last result. */
function runTwoSharedZeros(
  coefficients: Float64Array,
  state: Float64Array,
  signal0: Float64Array,
  signal1: Float64Array,
  count: number,
): void {
  const gain = coefficients[0];
  const a1 = coefficients[1];
  const a2 = coefficients[2];
  const secondA1 = coefficients[3];
  const secondA2 = coefficients[4];
  let last0 = state[0];
  let before0 = state[1];
  let last1 = state[2];
  let before1 = state[3];
  let secondLast0 = state[4];
  let secondBefore0 = state[5];
  let secondLast1 = state[6];
  let secondBefore1 = state[7];
  for (let i = 0; i < count; i++) {
    const now0 = gain * signal0[i] - a2 * before0 - a1 * last0;
    const now1 = gain * signal1[i] - a2 * before1 - a1 * last1;
    const second0 = now0 - before0 - secondA2 * secondBefore0 - secondA1 * secondLast0;
    const second1 = now1 - before1 - secondA2 * secondBefore1 - secondA1 * secondLast1;
    signal0[i] = second0 - secondBefore0;
    signal1[i] = second1 - secondBefore1;
    before0 = last0;
    before1 = last1;
    last0 = now0;
    last1 = now1;
    secondBefore0 = secondLast0;
    secondBefore1 = secondLast1;
    secondLast0 = second0;
    secondLast1 = second1;
  }
  state[0] = last0;
  state[1] = before0;
  state[2] = last1;
  state[3] = before1;
  state[4] = secondLast0;
  state[5] = secondBefore0;
  state[6] = secondLast1;
  state[7] = secondBefore1;
}
