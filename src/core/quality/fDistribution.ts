import { exp, log, PI } from '../elementary.ts';

/**
 * Finds the upper critical value of the F distribution: the F that chance exceeds with probability p.
 *
 *     P(F > f) = I_y(d2/2, d1/2),   y = d2/(d2 + d1·f),   I = regularised incomplete beta function
 *
 * Inverted by bisection, since it falls steadily with f.
 *
 * @param numeratorDf - d1, > 0   @param denominatorDf - d2, > 0   @param probability - 0 < p < 1
 * @returns the critical value, to 10 digits   @throws {RangeError} for arguments out of range
 * @example fCritical(5, 250, 0.01) // 3.0912
 */
export function fCritical(numeratorDf: number, denominatorDf: number, probability: number): number {
  if (!(numeratorDf > 0 && denominatorDf > 0)) {
    throw new RangeError(`fCritical: degrees of freedom must be > 0, got ${numeratorDf} and ${denominatorDf}`);
  }
  if (!(probability > 0 && probability < 1)) {
    throw new RangeError(`fCritical: probability must lie between 0 and 1, got ${probability}`);
  }
  let low = 0;
  let high = 1;
  while (fExceeds(high, numeratorDf, denominatorDf) > probability) high *= 2;
  for (let k = 0; k < 100 && high - low > 1e-12 * high; k++) {
    const middle = (low + high) / 2;
    if (fExceeds(middle, numeratorDf, denominatorDf) > probability) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/**
 * Works out how often chance alone gives an F at least this large.
 *
 *     P(F > f) = I_y(d2/2, d1/2),   y = d2/(d2 + d1·f)
 *
 * @param f - ≥ 0   @returns probability; 1 for f ≤ 0, NaN for NaN   @throws {RangeError} for degrees of freedom not > 0
 * @example fExceeds(3.0912, 5, 250) // 0.0100
 */
export function fExceeds(f: number, numeratorDf: number, denominatorDf: number): number {
  if (!(numeratorDf > 0 && denominatorDf > 0)) {
    throw new RangeError(`fExceeds: degrees of freedom must be > 0, got ${numeratorDf} and ${denominatorDf}`);
  }
  if (Number.isNaN(f)) return NaN;
  if (f <= 0) return 1;
  return incompleteBeta(denominatorDf / (denominatorDf + numeratorDf * f), denominatorDf / 2, numeratorDf / 2);
}

/** Regularised incomplete beta function by its continued fraction, modified Lentz (DLMF 8.17.22, dlmf.nist.gov). */
function incompleteBeta(x: number, a: number, b: number): number {
  if (x <= 0) return 0;
  if (x >= 1) return 1;
  if (x > (a + 1) / (a + b + 2)) return 1 - incompleteBeta(1 - x, b, a);
  const tiny = 1e-300;
  let c = 1;
  let d = 1 - ((a + b) * x) / (a + 1);
  d = 1 / (Math.abs(d) < tiny ? tiny : d);
  let fraction = d;
  for (let m = 1; m <= 500; m++) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    let change = 1;
    for (const coefficient of [even, odd]) {
      d = 1 + coefficient * d;
      d = 1 / (Math.abs(d) < tiny ? tiny : d);
      c = 1 + coefficient / c;
      c = Math.abs(c) < tiny ? tiny : c;
      change = c * d;
      fraction *= change;
    }
    if (Math.abs(change - 1) < 1e-15) break;
  }
  const logFront = a * log(x) + b * log(1 - x) + logGamma(a + b) - logGamma(a) - logGamma(b);
  return (exp(logFront) * fraction) / a;
}

/** ln Γ(x) for x > 0: Stirling's series (DLMF 5.11.1) after raising x above 12 by Γ(x + 1) = x·Γ(x). */
function logGamma(x: number): number {
  let shift = 0;
  let z = x;
  for (; z < 12; z++) shift += log(z);
  const square = 1 / (z * z);
  const series = (1 / 12 - square * (1 / 360 - square * (1 / 1260 - square * (1 / 1680 - square / 1188)))) / z;
  return (z - 0.5) * log(z) - z + 0.5 * log(2 * PI) + series - shift;
}
