/** A figure read off an average, with what the noise makes of it. */
export interface Figure {
  /** For instance 'I–V' or 'SP/AP by amplitude'. */
  name: string;
  unit: 'ms' | 'µV' | '%' | '';
  value: number;
  /** Standard deviation; NaN where only an interval can be given. */
  sd: number;
  /** 95 % interval. */
  low: number;
  high: number;
  /** False where the figure means nothing: its denominator is not clear of the noise. */
  meaningful: boolean;
}

const Z95 = 1.959963984540054;

/** Makes a figure with a symmetric interval, value ± 1.96 sd. @example figure('I–V', 'ms', 4, 0.1).high // 4.196 */
export function figure(name: string, unit: Figure['unit'], value: number, sd: number): Figure {
  const meaningful = Number.isFinite(value) && Number.isFinite(sd);
  return { name, unit, value, sd, low: value - Z95 * sd, high: value + Z95 * sd, meaningful };
}

/**
 * Makes a ratio of two independent figures, with its interval by Fieller's theorem.
 *
 *     g = z²·s_b²/b²;   [ρ ± (z/b)·√(s_a² + ρ²·s_b² − g·s_a²)] / (1 − g),   ρ = a/b
 *
 * Exact for Gaussian errors. Where the denominator is not clear of zero (g ≥ 1) the interval has no end, and below twice
 * its own noise the ratio is called meaningless. E. C. Fieller, J. R. Stat. Soc. B 16, 1954, 175–185 (from memory).
 *
 * @param numeratorSd - standard deviations, same unit as their figures
 * @returns sd by the delta rule; interval −Infinity … Infinity if g ≥ 1; NaN is passed on
 * @example ratioFigure('V/I', 0.4, 0.02, 0.2, 0.02).value // 2
 */
export function ratioFigure(
  name: string,
  numerator: number,
  numeratorSd: number,
  denominator: number,
  denominatorSd: number,
): Figure {
  const value = numerator / denominator;
  const size = Math.abs(denominator);
  const relative = denominatorSd / size;
  const g = Z95 * Z95 * relative * relative;
  const square = numeratorSd * numeratorSd + value * value * denominatorSd * denominatorSd;
  const sd = Math.sqrt(square) / size;
  const half = ((Z95 / size) * Math.sqrt(square - g * numeratorSd * numeratorSd)) / (1 - g);
  return {
    name,
    unit: '',
    value,
    sd,
    low: g < 1 ? value / (1 - g) - half : -Infinity,
    high: g < 1 ? value / (1 - g) + half : Infinity,
    meaningful: size >= 2 * denominatorSd && Number.isFinite(value),
  };
}
