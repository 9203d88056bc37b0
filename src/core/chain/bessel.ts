import { cosineOfCycles, sineOfCycles } from '../elementary.ts';
import type { Section } from './filters.ts';

/**
 * Poles −re ± j·im of the analogue Bessel low-pass with its −3 dB point at 1 rad/s, by order 1 to 8.
 *
 * They are the roots of the reverse Bessel polynomials, scaled to that point; a root without partner is real. Copied from
 * scipy.signal.besselap(order, norm='mag'), SciPy 1.17.1, by tests/published/fixtures/bessel.py.
 */
const POLES: readonly (readonly (readonly [number, number])[])[] = [
  [[1, 0]],
  [[1.1016013305921608, 0.636009824757034]],
  [
    [1.0474091610089349, 0.9992644362806369],
    [1.3226757999104441, 0],
  ],
  [
    [1.3700678305514422, 0.41024971749375155],
    [0.995208764350272, 1.257105739454664],
  ],
  [
    [1.3808773258604392, 0.717909587626768],
    [0.9576765485626815, 1.4711243207303943],
    [1.5023162714474785, 0],
  ],
  [
    [1.5714904036160318, 0.32089637422262396],
    [1.3818580975965642, 0.9714718907115716],
    [0.9306565229468591, 1.6618632689425918],
  ],
  [
    [1.6120387662261257, 0.589244506931472],
    [1.378903216795475, 1.1915667778006531],
    [0.9098677806234705, 1.8364513530363944],
    [1.6843681792731817, 0],
  ],
  [
    [1.757408400401653, 0.2728675751022327],
    [1.6369394181268888, 0.8227956251396998],
    [1.3738412176373769, 1.388356575877563],
    [0.8928697188471375, 1.9983258436413065],
  ],
];

/**
 * Designs a Bessel low- or high-pass by the bilinear transform, as second-order sections.
 *
 * With Ω = tan(π·corner/rate) and a pole pair −re ± j·im, q = re² + im²: low qΩ²/(s² + 2re·Ω·s + qΩ²), high
 * s²/(s² + (2re/q)·Ω·s + Ω²/q). The low-pass delays all it passes nearly alike, so it rounds a peak without ringing; the
 * bilinear transform loosens that where the corner comes near the sample rate. The high-pass has no such virtue.
 *
 * @param kind - 'low-pass' or 'high-pass'   @param order - 1 … 8   @param cornerHz - −3 dB point, below rate/2
 * @returns sections to run one after the other
 * @throws {RangeError} if the corner does not lie between 0 and half the sample rate, or the order is not 1 … 8
 */
export function bessel(
  kind: 'low-pass' | 'high-pass',
  order: number,
  cornerHz: number,
  sampleRateHz: number,
): Section[] {
  if (!(order >= 1 && order <= POLES.length && Number.isInteger(order))) {
    throw new RangeError(`bessel: order must be 1 to ${POLES.length}, got ${order}`);
  }
  if (!(cornerHz > 0 && cornerHz < sampleRateHz / 2)) {
    throw new RangeError(`bessel: cornerHz must lie between 0 and ${sampleRateHz / 2} Hz, got ${cornerHz}`);
  }
  const half = cornerHz / sampleRateHz / 2; // turns
  const omega = sineOfCycles(half) / cosineOfCycles(half);
  return POLES[order - 1].map(([re, im]) =>
    im === 0 ? realSection(kind, re, omega) : pairedSection(kind, re, im, omega),
  );
}

function pairedSection(kind: 'low-pass' | 'high-pass', re: number, im: number, omega: number): Section {
  const square = re * re + im * im;
  const low = kind === 'low-pass';
  const damping = (low ? 2 * re : (2 * re) / square) * omega;
  const constant = (low ? square : 1 / square) * omega * omega;
  const norm = 1 / (1 + damping + constant);
  const gain = low ? constant * norm : norm;
  return {
    b0: gain,
    b1: low ? 2 * gain : -2 * gain,
    b2: gain,
    a1: 2 * (constant - 1) * norm,
    a2: (1 - damping + constant) * norm,
  };
}

function realSection(kind: 'low-pass' | 'high-pass', re: number, omega: number): Section {
  const corner = kind === 'low-pass' ? re * omega : omega / re;
  const norm = 1 / (1 + corner);
  const gain = kind === 'low-pass' ? corner * norm : norm;
  return { b0: gain, b1: kind === 'low-pass' ? gain : -gain, b2: 0, a1: (corner - 1) * norm, a2: 0 };
}
