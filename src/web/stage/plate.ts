import type { Ink } from './ink.ts';
import type { Palette } from './palette.ts';

/** Draws a picture of the given size, CSS pixels. */
export type Draw = (ink: Ink, width: number, height: number, palette: Palette) => void;

/** A picture as the painter keeps it. */
export interface Plate {
  canvas: HTMLCanvasElement;
  draw: Draw;
  dirty: boolean;
}
