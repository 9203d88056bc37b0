import type { InkColour } from './palette.ts';

/** How a stroke or a fill is broken up. Identity never rests on colour alone. */
export type InkPattern =
  | 'solid'
  | 'dashes'
  | 'dots'
  | 'dash-dot'
  | 'hatched'
  | 'stippled'
  | 'open'
  | 'long-dashes'
  | 'dash-dot-dot';

/** Strokes and gaps of each pattern along a stroke, px, as the shader draws them. */
export const strokeDashes: Readonly<Partial<Record<InkPattern, readonly number[]>>> = {
  dashes: [8, 5],
  dots: [2, 3],
  'dash-dot': [9, 3, 2, 3],
  'long-dashes': [17, 5],
  'dash-dot-dot': [8, 3, 2, 3, 2, 3],
};

/** What every picture is drawn with, on the screen or into a file. Coordinates are CSS pixels from the top left. */
export interface Ink {
  /** A filled rectangle; corners in any order. */
  fill(x0: number, y0: number, x1: number, y1: number, colour: InkColour, pattern?: InkPattern): void;
  /** A filled band between two curves at the same x positions; NaN leaves a gap. */
  band(
    xs: ArrayLike<number>,
    lows: ArrayLike<number>,
    highs: ArrayLike<number>,
    count: number,
    colour: InkColour,
  ): void;
  /** A stroke through points; NaN leaves a gap. */
  stroke(
    xs: ArrayLike<number>,
    ys: ArrayLike<number>,
    count: number,
    width: number,
    colour: InkColour,
    pattern?: InkPattern,
  ): void;
  /** One straight stroke. @returns the distance along at its end */
  segment(
    x0: number,
    y0: number,
    x1: number,
    y1: number,
    width: number,
    colour: InkColour,
    pattern?: InkPattern,
    along?: number,
  ): number;
  /** A filled convex shape around its first corner, for end markers. */
  shape(corners: readonly (readonly [number, number])[], colour: InkColour): void;
}
