import type { Section } from '../../src/core/chain/filters.ts';

/** Response of a cascade at one frequency, from its coefficients: H = Π (b0 + b1·z⁻¹ + b2·z⁻²)/(1 + a1·z⁻¹ + a2·z⁻²). */
export function responseAt(sections: readonly Section[], hz: number, sampleRateHz: number): { re: number; im: number } {
  const angle = (-2 * Math.PI * hz) / sampleRateHz;
  const polynomial = (c0: number, c1: number, c2: number) => ({
    re: c0 + c1 * Math.cos(angle) + c2 * Math.cos(2 * angle),
    im: c1 * Math.sin(angle) + c2 * Math.sin(2 * angle),
  });
  let product = { re: 1, im: 0 };
  for (const { b0, b1, b2, a1, a2 } of sections) {
    const top = polynomial(b0, b1, b2);
    const bottom = polynomial(1, a1, a2);
    const power = bottom.re ** 2 + bottom.im ** 2;
    const quotient = {
      re: (top.re * bottom.re + top.im * bottom.im) / power,
      im: (top.im * bottom.re - top.re * bottom.im) / power,
    };
    product = {
      re: product.re * quotient.re - product.im * quotient.im,
      im: product.re * quotient.im + product.im * quotient.re,
    };
  }
  return product;
}
