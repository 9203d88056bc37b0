import { cosineOfCycles, PI, sineOfCycles } from '../elementary.ts';
import { type Figure, figure } from './figure.ts';

/**
 * Reads a steady-state response: size and phase of one frequency over whole cycles of the trace.
 *
 *     c = (2/n)·Σ x(i)·e^(−2πi·f·t),   size = |c|,   σ = √(mean size² of the neighbours)/√2
 *
 * The neighbours are the frequencies 2 to 9 cycles per trace on either side: what is there is noise. A size that is noise
 * alone reads 1.25 σ on average, so it is called meaningful only from 2.5 σ on (4 % of noise, Rayleigh's distribution).
 *
 * @param traceUv - from sample `from` to `to`, µV; should hold a whole number of cycles
 * @returns size in µV and phase of a sine in turns of a cycle, 0 … 1, as ms of one period
 * @throws {RangeError} if the window is empty or the frequency beyond half the sample rate
 */
export function readBeat(
  traceUv: Float64Array,
  from: number,
  to: number,
  sampleRateHz: number,
  frequencyHz: number,
): Figure[] {
  if (!(from >= 0 && to > from && to <= traceUv.length)) {
    throw new RangeError(`readBeat: window must lie within 0 to ${traceUv.length}, got ${from} to ${to}`);
  }
  if (!(frequencyHz > 0 && frequencyHz < sampleRateHz / 2)) {
    throw new RangeError(`readBeat: frequency must lie between 0 and ${sampleRateHz / 2} Hz, got ${frequencyHz}`);
  }
  const count = to - from;
  const component = (hz: number) => {
    let real = 0;
    let imaginary = 0;
    for (let i = 0; i < count; i++) {
      const cycles = (hz * i) / sampleRateHz;
      real += traceUv[from + i] * cosineOfCycles(cycles);
      imaginary -= traceUv[from + i] * sineOfCycles(cycles);
    }
    return { real: (2 * real) / count, imaginary: (2 * imaginary) / count };
  };
  const spacingHz = sampleRateHz / count;
  let power = 0;
  let neighbours = 0;
  for (let k = 2; k <= 9; k++) {
    for (const side of [-1, 1]) {
      const hz = frequencyHz + side * k * spacingHz;
      if (!(hz > 0 && hz < sampleRateHz / 2)) continue;
      const { real, imaginary } = component(hz);
      power += real * real + imaginary * imaginary;
      neighbours++;
    }
  }
  const sd = Math.sqrt(power / neighbours / 2);
  const { real, imaginary } = component(frequencyHz);
  const sizeUv = Math.sqrt(real * real + imaginary * imaginary);
  // A sine that begins d ms late has the real part −sin(2πfd) and the imaginary part −cos(2πfd).
  const turns = angleTurns(-imaginary, -real);
  const periodMs = 1000 / frequencyHz;
  const size = figure(`${frequencyHz.toFixed(1)} Hz`, 'µV', sizeUv, sd);
  const delay = figure('delay within a cycle', 'ms', turns * periodMs, ((sd / sizeUv) * periodMs) / (2 * PI));
  const clear = sizeUv >= 2.5 * sd;
  return [
    { ...size, meaningful: clear },
    { ...delay, meaningful: clear },
  ];
}

/** Angle of the point (x, y) in turns, 0 ≤ angle < 1, by bisection on sine and cosine. */
function angleTurns(x: number, y: number): number {
  const radius = Math.sqrt(x * x + y * y);
  if (!(radius > 0)) return NaN;
  // Within half a turn the cosine falls steadily.
  let low = 0;
  let high = 0.5;
  for (let k = 0; k < 50; k++) {
    const middle = (low + high) / 2;
    if (cosineOfCycles(middle) > x / radius) low = middle;
    else high = middle;
  }
  const upper = (low + high) / 2;
  return y >= 0 ? upper : 1 - upper;
}
