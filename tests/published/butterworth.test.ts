import { describe, expect, it } from 'vitest';
import { butterworth, filterCascade, notch } from '../../src/core/chain/filters.ts';
import { responseAt } from './cascadeResponse.ts';
import fixture from './fixtures/butterworth.json' with { type: 'json' };

const design = ({ kind, order, cornerHz, sampleRateHz, q }: (typeof fixture.cases)[number]) =>
  kind === 'notch'
    ? [notch(cornerHz, q ?? 1, sampleRateHz)]
    : butterworth(kind as 'low-pass' | 'high-pass', order, cornerHz, sampleRateHz);

describe(`filters against SciPy ${fixture.scipy} (fixtures/butterworth.py)`, () => {
  it.each(fixture.cases)('$kind of order $order at $cornerHz Hz of $sampleRateHz Hz: magnitude and phase', (entry) => {
    const sections = design(entry);
    for (const [k, hz] of entry.hz.entries()) {
      const { re, im } = responseAt(sections, hz, entry.sampleRateHz);
      const size = Math.hypot(entry.real[k], entry.imaginary[k]);
      const gap = Math.hypot(re - entry.real[k], im - entry.imaginary[k]);
      // Near z = ±1 the polynomials are differences of numbers near 1 that leave d², d the angle to ±1: each
      // coefficient's rounding error ε becomes ε/d² of the response: six coefficients a section and two programs, say 16.
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
    expect(worst).toBeLessThan(1e-11); // as above, and rounding adds up along 200 samples
  });

  it.each(fixture.cases.filter(({ kind }) => kind !== 'notch'))(
    '$kind of order $order at $cornerHz Hz of $sampleRateHz Hz: half power at the corner',
    (entry) => {
      // The definition of a Butterworth corner: |H|² = 1/2, for every order.
      const { re, im } = responseAt(design(entry), entry.cornerHz, entry.sampleRateHz);
      expect(re * re + im * im).toBeCloseTo(0.5, 10);
    },
  );
});
