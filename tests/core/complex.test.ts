import { expect, it } from 'vitest';
import { minus, over, plus, sizeOf, times } from '../../src/core/complex.ts';

const a = { re: 3, im: -4 };
const b = { re: -1, im: 2 };

it('adds, subtracts, multiplies and divides by hand', () => {
  expect(plus(a, b)).toEqual({ re: 2, im: -2 });
  expect(minus(a, b)).toEqual({ re: 4, im: -6 });
  expect(times(a, b)).toEqual({ re: 5, im: 10 });
  expect(over(a, b)).toEqual({ re: -2.2, im: -0.4 });
  expect(sizeOf(a)).toBe(5);
});

it('gives NaN for a division by nothing', () => {
  expect(over(a, { re: 0, im: 0 }).re).toBeNaN();
});
