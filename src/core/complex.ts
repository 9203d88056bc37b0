/** A complex number: impedances and phasors. */
export interface Complex {
  re: number;
  im: number;
}

/** Returns a + b. @example plus({ re: 1, im: 2 }, { re: 3, im: 0 }) // { re: 4, im: 2 } */
export function plus(a: Complex, b: Complex): Complex {
  return { re: a.re + b.re, im: a.im + b.im };
}

/** Returns a − b. @example minus({ re: 1, im: 2 }, { re: 3, im: 0 }) // { re: -2, im: 2 } */
export function minus(a: Complex, b: Complex): Complex {
  return { re: a.re - b.re, im: a.im - b.im };
}

/** Returns a · b. @example times({ re: 0, im: 1 }, { re: 0, im: 1 }) // { re: -1, im: 0 } */
export function times(a: Complex, b: Complex): Complex {
  return { re: a.re * b.re - a.im * b.im, im: a.re * b.im + a.im * b.re };
}

/** Returns a / b; NaN where b is 0. @example over({ re: 2, im: 0 }, { re: 0, im: 1 }) // { re: 0, im: -2 } */
export function over(a: Complex, b: Complex): Complex {
  const power = b.re * b.re + b.im * b.im;
  return { re: (a.re * b.re + a.im * b.im) / power, im: (a.im * b.re - a.re * b.im) / power };
}

/** Returns the size of a complex number. @example sizeOf({ re: 3, im: 4 }) // 5 */
export function sizeOf({ re, im }: Complex): number {
  return Math.sqrt(re * re + im * im);
}
