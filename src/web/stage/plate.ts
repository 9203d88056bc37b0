import type { Ink } from './ink.ts';
import type { Palette } from './palette.ts';

/** Draws a picture of the given size, CSS pixels. */
export type Draw = (ink: Ink, width: number, height: number, palette: Palette) => void;

/** A picture as the painter keeps it. */
export interface Plate {
  canvas: HTMLCanvasElement;
  draw: Draw;
  dirty: boolean;
  /** Frame in which it was last drawn: the one that waited longest comes first. */
  drawnIn: number;
}

/** A picture that is drawn in this frame, with its size in CSS pixels. */
export interface DuePlate {
  plate: Plate;
  width: number;
  height: number;
}
