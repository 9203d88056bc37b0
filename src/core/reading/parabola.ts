/** A parabola laid through samples around one of them, by least squares. */
export interface Parabola {
  /** Value at the middle sample: a smoothed sample, µV. */
  valueUv: number;
  slopeUvPerMs: number;
  /** Second derivative, µV/ms²; negative at a peak. */
  curvatureUvPerMs2: number;
}

/**
 * Fits a parabola over 2h + 1 samples about the middle one.
 *
 *     y ≈ value + slope·t + ½·curvature·t²,   least squares over t = −h … h samples
 *
 * With h = 1 it goes through the three samples exactly. A wider one averages noise, and flattens peaks narrower than it.
 *
 * @param traceUv - µV   @param middle - sample   @param half - h, samples ≥ 1
 * @returns NaN if a sample is NaN or lies outside   @throws {RangeError} unless half is a whole number ≥ 1
 * @example parabola(Float64Array.of(1, 2, 1), 1, 1, 1000).curvatureUvPerMs2 // -2
 */
export function parabola(traceUv: Float64Array, middle: number, half: number, sampleRateHz: number): Parabola {
  if (!(half >= 1 && Number.isInteger(half))) {
    throw new RangeError(`parabola: half must be a whole number >= 1, got ${half}`);
  }
  const perMs = sampleRateHz / 1000;
  let squares = 0; // Σ t²
  let fourths = 0; // Σ t⁴
  let sum = 0; // Σ y
  let moment = 0; // Σ t·y
  let second = 0; // Σ t²·y
  for (let t = -half; t <= half; t++) {
    const y = middle + t >= 0 && middle + t < traceUv.length ? traceUv[middle + t] : NaN;
    squares += t * t;
    fourths += t * t * t * t;
    sum += y;
    moment += t * y;
    second += t * t * y;
  }
  const count = 2 * half + 1;
  const determinant = count * fourths - squares * squares;
  return {
    valueUv: (fourths * sum - squares * second) / determinant,
    slopeUvPerMs: (moment / squares) * perMs,
    curvatureUvPerMs2: ((2 * (count * second - squares * sum)) / determinant) * perMs * perMs,
  };
}
