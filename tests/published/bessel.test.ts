import { describe, expect, it } from 'vitest';
import { bessel } from '../../src/core/chain/bessel.ts';
import { filterCascade } from '../../src/core/chain/filters.ts';
import { responseAt } from './cascadeResponse.ts';
import fixture from './fixtures/bessel.json' with { type: 'json' };

const design = ({ kind, order, cornerHz, sampleRateHz }: (typeof fixture.cases)[number]) =>
  bessel(kind as 'low-pass' | 'high-pass', order, cornerHz, sampleRateHz);

describe(`Bessel filters against SciPy ${fixture.scipy} (fixtures/bessel.py)`, () => {
  it.each(fixture.cases)('$kind of order $order at $cornerHz Hz of $sampleRateHz Hz: magnitude and phase', (entry) => {
    const sections = design(entry);
    for (const [k, hz] of entry.hz.entries()) {
      const { re, im } = responseAt(sections, hz, entry.sampleRateHz);
      const size = Math.hypot(entry.real[k], entry.imaginary[k]);
      const gap = Math.hypot(re - entry.real[k], im - entry.imaginary[k]);
      // As for the Butterworth filters: rounding grows with the square of the nearness to z = ±1.
      const angle = (2 * Math.PI * hz) / entry.sampleRateHz;
      const distance = Math.min(1, angle, Math.PI - angle);
      const rounding = (16 * sections.length * Number.EPSILON) / distance ** 2;
      expect(gap).toBeLessThan(rounding * Math.max(size, 1e-3));
    }
  });

  it.each(fixture.cases)('$kind of order $order at $cornerHz Hz of $sampleRateHz Hz: impulse response', (entry) => {
    const length = entry.impulse.length;
    const signal = new Float64Array(length);
    signal[0] = 1;
    filterCascade(design(entry)).run(signal, new Float64Array(length), length);
    const worst = Math.max(...signal.map((value, i) => Math.abs(value - entry.impulse[i])));
    expect(worst).toBeLessThan(1e-11);
  });

  it.each(fixture.cases)(
    '$kind of order $order at $cornerHz Hz of $sampleRateHz Hz: half power at the corner',
    (entry) => {
      const { re, im } = responseAt(design(entry), entry.cornerHz, entry.sampleRateHz);
      expect(re * re + im * im).toBeCloseTo(0.5, 10);
    },
  );
});

describe('the poles of order 2 to 4', () => {
  // The reverse Bessel polynomials (Storch 1954, from memory): s² + 3s + 3, s³ + 6s² + 15s + 15, s⁴ + 10s³ + 45s² + 105s + 105.
  const polynomials = [
    [3, 3, 1],
    [15, 15, 6, 1],
    [105, 105, 45, 10, 1],
  ];
  it.each(polynomials.map((coefficients) => [coefficients.length - 1, coefficients] as const))(
    'order %i: their polynomial is the reverse Bessel polynomial but for the scale of frequency',
    (order, coefficients) => {
      // From the poles of the fixture, which the filters above were held to: Π(s + re ± j·im) = Σ c_k·s^k.
      let product = [1];
      for (const [re, im] of fixture.poles[order - 1]) {
        const factor = im === 0 ? [re, 1] : [re * re + im * im, 2 * re, 1];
        const next = Array(product.length + factor.length - 1).fill(0);
        for (const [j, a] of product.entries()) for (const [k, b] of factor.entries()) next[j + k] += a * b;
        product = next;
      }
      const scale = (product[0] / coefficients[0]) ** (1 / order);
      for (const [k, c] of coefficients.entries()) {
        expect(product[k] / (c * scale ** (order - k))).toBeCloseTo(1, 9);
      }
    },
  );
});
