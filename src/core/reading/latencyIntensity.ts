import { exp } from '../elementary.ts';
import { type Figure, figure } from './figure.ts';

/** A latency read at one level. */
export interface LevelLatency {
  levelDbNhl: number;
  latencyMs: number;
  latencySdMs: number;
}

/** A latency–intensity function τ(L) = a + b·e^(−L/c). */
export interface LatencyIntensity {
  /** Latency far above threshold, ms. */
  a: number;
  /** ms above that at 0 dB nHL. */
  b: number;
  /** dB over which the rest falls to 1/e. */
  c: number;
  /** Slopes −dτ/dL between two levels, µs/dB, with the standard deviation that the readings give: in unit ms/dB × 1000. */
  slopes: Figure[];
  /** Weighted sum of squares of the residuals: about (levels − free parameters) if the readings are as good as they say. */
  chiSquare: number;
  /** Latency on the curve, ms. */
  at(levelDbNhl: number): number;
}

const USUAL_C_DB = 38; // dB: decay of the click model, used where fewer than four levels cannot tell it
const SLOPE_SPANS = [
  [65, 85],
  [45, 65],
] as const;

/**
 * Fits a latency–intensity function to wave V at several levels.
 *
 *     τ(L) = a + b·e^(−L/c),   weighted least squares: a and b exactly for each c, c by search from 8 to 200 dB
 *
 * With fewer than four levels c is held at 38 dB. The slope's σ comes from refitting with each latency moved by its own σ
 * (first order), so c's freedom is in it.
 *
 * @param readings - at least 2 different levels   @throws {RangeError} for fewer, or a σ that is not > 0
 */
export function latencyIntensity(readings: readonly LevelLatency[]): LatencyIntensity {
  const levels = new Set(readings.map(({ levelDbNhl }) => levelDbNhl)).size;
  if (!(levels >= 2)) throw new RangeError(`latencyIntensity: needs at least 2 levels, got ${levels}`);
  for (const { latencySdMs } of readings) {
    if (!(latencySdMs > 0)) throw new RangeError(`latencyIntensity: latencySdMs must be > 0, got ${latencySdMs}`);
  }
  const free = levels >= 4;
  const best = fitCurve(readings, free);
  const moved = readings.map((_, k) =>
    fitCurve(
      readings.map((reading, j) =>
        j === k ? { ...reading, latencyMs: reading.latencyMs + reading.latencySdMs } : reading,
      ),
      free,
    ),
  );
  const at = ({ a, b, c }: Curve, levelDb: number) => a + b * exp(-levelDb / c);
  const slope = (curve: Curve, low: number, high: number) => (1000 * (at(curve, low) - at(curve, high))) / (high - low);
  const slopes = SLOPE_SPANS.map(([low, high]) => {
    const value = slope(best, low, high);
    let variance = 0;
    for (const curve of moved) variance += (slope(curve, low, high) - value) * (slope(curve, low, high) - value);
    return figure(`µs/dB ${high}–${low} dB nHL`, '', value, Math.sqrt(variance));
  });
  return { a: best.a, b: best.b, c: best.c, slopes, chiSquare: best.chiSquare, at: (levelDb) => at(best, levelDb) };
}

interface Curve {
  a: number;
  b: number;
  c: number;
  chiSquare: number;
}

function fitCurve(readings: readonly LevelLatency[], free: boolean): Curve {
  if (!free) return straightFit(readings, USUAL_C_DB);
  let best = straightFit(readings, 8);
  for (let c = 8; c <= 200; c *= 1.05) {
    const curve = straightFit(readings, c);
    if (curve.chiSquare < best.chiSquare) best = curve;
  }
  // Golden section between the neighbours of the best grid point.
  const golden = (Math.sqrt(5) - 1) / 2;
  let low = best.c / 1.05;
  let high = best.c * 1.05;
  for (let k = 0; k < 60; k++) {
    const left = straightFit(readings, high - golden * (high - low));
    const right = straightFit(readings, low + golden * (high - low));
    if (left.chiSquare < right.chiSquare) high = right.c;
    else low = left.c;
  }
  const refined = straightFit(readings, (low + high) / 2);
  return refined.chiSquare <= best.chiSquare ? refined : best;
}

/** a and b for a given c, by weighted least squares. */
function straightFit(readings: readonly LevelLatency[], c: number): Curve {
  let weights = 0;
  let meanX = 0;
  let meanY = 0;
  for (const { levelDbNhl, latencyMs, latencySdMs } of readings) {
    const weight = 1 / (latencySdMs * latencySdMs);
    weights += weight;
    meanX += weight * exp(-levelDbNhl / c);
    meanY += weight * latencyMs;
  }
  meanX /= weights;
  meanY /= weights;
  let products = 0;
  let squares = 0;
  for (const { levelDbNhl, latencyMs, latencySdMs } of readings) {
    const weight = 1 / (latencySdMs * latencySdMs);
    const x = exp(-levelDbNhl / c) - meanX;
    products += weight * x * (latencyMs - meanY);
    squares += weight * x * x;
  }
  const b = products / squares;
  const a = meanY - b * meanX;
  let chiSquare = 0;
  for (const { levelDbNhl, latencyMs, latencySdMs } of readings) {
    const rest = (latencyMs - a - b * exp(-levelDbNhl / c)) / latencySdMs;
    chiSquare += rest * rest;
  }
  return { a, b, c, chiSquare };
}
