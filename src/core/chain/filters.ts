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
 * Both signals go through one loop: each recurrence waits for its own last result, and two of them fill the gaps
 * (`npm run bench`). Transposed direct form II.
 */
export function filterCascade(sections: readonly Section[]): FilterCascade {
  const state = new Float64Array(4 * sections.length);
  return {
    run(signal0, signal1, count) {
      for (let s = 0; s < sections.length; s++) runSection(sections[s], state, 4 * s, signal0, signal1, count);
    },
  };
}

function runSection(
  { b0, b1, b2, a1, a2 }: Section,
  state: Float64Array,
  at: number,
  signal0: Float64Array,
  signal1: Float64Array,
  count: number,
): void {
  let p0 = state[at];
  let q0 = state[at + 1];
  let p1 = state[at + 2];
  let q1 = state[at + 3];
  for (let i = 0; i < count; i++) {
    const x0 = signal0[i];
    const x1 = signal1[i];
    const y0 = b0 * x0 + p0;
    const y1 = b0 * x1 + p1;
    p0 = b1 * x0 - a1 * y0 + q0;
    p1 = b1 * x1 - a1 * y1 + q1;
    q0 = b2 * x0 - a2 * y0;
    q1 = b2 * x1 - a2 * y1;
    signal0[i] = y0;
    signal1[i] = y1;
  }
  state[at] = p0;
  state[at + 1] = q0;
  state[at + 2] = p1;
  state[at + 3] = q1;
}
