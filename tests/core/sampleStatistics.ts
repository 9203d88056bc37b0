/** Sample moments and the normal distribution, for statistical tests. Nothing here comes from the code under test. */

export function mean(values: ArrayLike<number>): number {
  let sum = 0;
  for (let k = 0; k < values.length; k++) sum += values[k];
  return sum / values.length;
}

/** Σ (x − mean)² / n. */
export function variance(values: ArrayLike<number>): number {
  return centralMoment(values, 2);
}

export function standardDeviation(values: ArrayLike<number>): number {
  return Math.sqrt(variance(values));
}

/** Standard error of the mean of independent values. */
export function standardError(values: ArrayLike<number>): number {
  return standardDeviation(values) / Math.sqrt(values.length - 1);
}

/** Σ (x − mean)^order / n. */
export function centralMoment(values: ArrayLike<number>, order: number): number {
  const middle = mean(values);
  let sum = 0;
  for (let k = 0; k < values.length; k++) sum += (values[k] - middle) ** order;
  return sum / values.length;
}

/** Pearson's r of two lists, the second read `lag` places later. */
export function correlation(a: ArrayLike<number>, b: ArrayLike<number>, lag = 0): number {
  const count = Math.min(a.length, b.length - lag);
  let meanA = 0;
  let meanB = 0;
  for (let k = 0; k < count; k++) {
    meanA += a[k] / count;
    meanB += b[k + lag] / count;
  }
  let squaresA = 0;
  let squaresB = 0;
  let products = 0;
  for (let k = 0; k < count; k++) {
    squaresA += (a[k] - meanA) ** 2;
    squaresB += (b[k + lag] - meanB) ** 2;
    products += (a[k] - meanA) * (b[k + lag] - meanB);
  }
  return products / Math.sqrt(squaresA * squaresB);
}

export function rms(values: ArrayLike<number>): number {
  let sum = 0;
  for (let k = 0; k < values.length; k++) sum += values[k] * values[k];
  return Math.sqrt(sum / values.length);
}

export function median(values: ArrayLike<number>): number {
  const sorted = Float64Array.from(values).sort();
  return sorted[Math.floor(sorted.length / 2)];
}

/** P(standard normal > x) for x ≥ 0: Mills' continued fraction far out, the power series near 0; from memory. */
export function normalTail(x: number): number {
  const density = Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI);
  if (x < 3) {
    let term = x;
    let sum = x;
    for (let n = 1; n < 60; n++) {
      term *= (x * x) / (2 * n + 1);
      sum += term;
    }
    return 0.5 - density * sum;
  }
  let fraction = x;
  for (let n = 60; n >= 1; n--) fraction = x + n / fraction;
  return density / fraction;
}

export function normalCdf(x: number): number {
  return x < 0 ? normalTail(-x) : 1 - normalTail(x);
}
