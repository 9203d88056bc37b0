import { describe, expect, it } from 'vitest';
import { fCritical } from '../../src/core/quality/fDistribution.ts';
import { FMP_PRESENT } from '../../src/core/quality/fmp.ts';

const cases = [
  // id, numerator df, denominator df, probability, value, unit of its last digit, where from
  ['B20', 1, 10, 0.05, 4.96, 0.01, 'printed F table'],
  ['B21', 1, 10, 0.01, 10.04, 0.01, 'printed F table'],
  ['B22', 2, 10, 0.05, 4.1, 0.01, 'printed F table'],
  ['B23', 2, 10, 0.01, 7.56, 0.01, 'printed F table'],
  ['B24', 3, 10, 0.05, 3.71, 0.01, 'printed F table'],
  ['B25', 3, 10, 0.01, 6.55, 0.01, 'printed F table'],
  ['B26', 4, 10, 0.05, 3.48, 0.01, 'printed F table'],
  ['B27', 4, 10, 0.01, 5.99, 0.01, 'printed F table'],
  ['B28', 5, 10, 0.05, 3.33, 0.01, 'printed F table'],
  ['B29', 5, 10, 0.01, 5.64, 0.01, 'printed F table'],
  ['B30', 5, 5, 0.05, 5.05, 0.01, 'printed F table'],
  ['B31', 5, 5, 0.01, 10.97, 0.01, 'printed F table'],
  ['B32', 10, 5, 0.05, 4.74, 0.01, 'printed F table'],
  ['B33', 10, 5, 0.01, 10.05, 0.01, 'printed F table'],
  ['B34', 1, 2, 0.05, 18.5128, 0.0001, 'printed F table, 4 decimals'],
  ['B35', 5, 2, 0.05, 19.2964, 0.0001, 'printed F table, 4 decimals'],
  ['B36', 5, 2, 0.01, 99.2993, 0.0001, 'printed F table, 4 decimals'],
  ['B37', 10, 3, 0.05, 8.7855, 0.0001, 'printed F table, 4 decimals'],
  ['B38', 2, 3, 0.05, 9.5521, 0.0001, 'printed F table, 4 decimals'],
  ['B39', 1, 3, 0.05, 10.128, 0.001, 'printed F table, 4 decimals'],
  ['B60', 5, 250, 0.05, 2.2501, 0.0001, 'SciPy, numerical inversion'],
  ['B61', 5, 250, 0.01, 3.0912, 0.0001, 'SciPy, numerical inversion'],
  ['B62', 5, 250, 0.001, 4.2497, 0.0001, 'SciPy, numerical inversion'],
  ['B63', 2, 240, 0.05, 3.0334, 0.0001, 'SciPy, numerical inversion'],
  ['B64', 2, 240, 0.01, 4.6947, 0.0001, 'SciPy, numerical inversion'],
  ['B65', 1, 120, 0.05, 3.9201, 0.0001, 'SciPy, numerical inversion'],
  ['B66', 2, 120, 0.05, 3.0718, 0.0001, 'SciPy, numerical inversion'],
  ['B67', 2, 120, 0.01, 4.7865, 0.0001, 'SciPy, numerical inversion'],
  ['B68', 5, 120, 0.05, 2.2899, 0.0001, 'SciPy, numerical inversion'],
  ['B69', 5, 120, 0.01, 3.1735, 0.0001, 'SciPy, numerical inversion'],
  ['B70', 10, 120, 0.05, 1.9105, 0.0001, 'SciPy, numerical inversion'],
  ['B71', 10, 120, 0.01, 2.4721, 0.0001, 'SciPy, numerical inversion'],
  ['B72', 5, 1000, 0.01, 3.0355, 0.0001, 'SciPy, numerical inversion'],
] as const;

describe('fCritical', () => {
  it.each(cases)('%s: F(%i, %i) at p = %f is %f', (_id, d1, d2, probability, value, lastDigit) => {
    expect(Math.abs(fCritical(d1, d2, probability) - value)).toBeLessThanOrEqual(0.5 * lastDigit + 1e-9);
  });

  it('B01: the 99 % limit of a detection with 5 and 250 degrees of freedom is the published 3.1', () => {
    // Source: Elberling & Don 1984 and Don, Elberling & Waring 1984, quoted in the published values B01 as 3.1.
    expect(FMP_PRESENT.toFixed(1)).toBe('3.1');
  });

  it.each([
    [0, 5, 0.05],
    [5, Number.NaN, 0.05],
    [5, 5, 0],
    [5, 5, 1],
  ])('refuses degrees of freedom %f, %f and probability %f', (d1, d2, probability) => {
    expect(() => fCritical(d1, d2, probability)).toThrow(RangeError);
  });
});
