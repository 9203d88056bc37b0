import { type Ink, type InkPattern, strokeDashes } from './ink.ts';
import type { InkColour } from './palette.ts';

const TILE = 5; // px, the repeat of a broken fill

/** Ink that draws on a canvas as it is: until the graphics card is there, and in browsers that have none to give. */
export class CanvasInk implements Ink {
  private context: CanvasRenderingContext2D | null = null;
  private readonly tiles = new Map<string, CanvasPattern>();

  /** Wipes a canvas and draws on it from now on, in CSS pixels. */
  aim(canvas: HTMLCanvasElement, pixelRatio: number): void {
    this.context = canvas.getContext('2d');
    this.context?.setTransform(pixelRatio, 0, 0, pixelRatio, 0, 0);
    this.context?.clearRect(0, 0, canvas.width, canvas.height);
  }

  fill(x0: number, y0: number, x1: number, y1: number, colour: InkColour, pattern: InkPattern = 'solid'): void {
    const { context } = this;
    const width = Math.abs(x1 - x0);
    const height = Math.abs(y1 - y0);
    if (!context || !(width > 0 && height > 0)) return;
    const left = Math.min(x0, x1);
    const top = Math.min(y0, y1);
    if (pattern === 'open') {
      context.strokeStyle = cssColour(colour);
      this.broken(1, 'solid', 0);
      context.strokeRect(left, top, width, height);
      return;
    }
    const isTiled = pattern === 'hatched' || pattern === 'stippled';
    context.fillStyle = isTiled ? this.tileOf(context, pattern, colour) : cssColour(colour);
    context.fillRect(left, top, width, height);
  }

  band(
    xs: ArrayLike<number>,
    lows: ArrayLike<number>,
    highs: ArrayLike<number>,
    count: number,
    colour: InkColour,
  ): void {
    const { context } = this;
    if (!context) return;
    context.fillStyle = cssColour(colour);
    for (let from = 0; from < count; from++) {
      if (Number.isNaN(lows[from])) continue;
      let to = from;
      while (to + 1 < count && !Number.isNaN(lows[to + 1])) to++;
      context.beginPath();
      for (let i = from; i <= to; i++) context.lineTo(xs[i], lows[i]);
      for (let i = to; i >= from; i--) context.lineTo(xs[i], highs[i]);
      context.fill();
      from = to;
    }
  }

  stroke(
    xs: ArrayLike<number>,
    ys: ArrayLike<number>,
    count: number,
    width: number,
    colour: InkColour,
    pattern: InkPattern = 'solid',
  ): void {
    const { context } = this;
    if (!context) return;
    context.beginPath();
    let isOpen = false;
    for (let i = 0; i < count; i++) {
      const drawn = !(Number.isNaN(xs[i]) || Number.isNaN(ys[i]));
      if (drawn && isOpen) context.lineTo(xs[i], ys[i]);
      else if (drawn) context.moveTo(xs[i], ys[i]);
      isOpen = drawn;
    }
    this.line(context, width, colour, pattern, 0);
  }

  segment(
    x0: number,
    y0: number,
    x1: number,
    y1: number,
    width: number,
    colour: InkColour,
    pattern: InkPattern = 'solid',
    along = 0,
  ): number {
    const length = Math.hypot(x1 - x0, y1 - y0);
    if (!this.context || !(length > 0)) return along;
    this.context.beginPath();
    this.context.moveTo(x0, y0);
    this.context.lineTo(x1, y1);
    this.line(this.context, width, colour, pattern, along);
    return along + length;
  }

  shape(corners: readonly (readonly [number, number])[], colour: InkColour): void {
    const { context } = this;
    if (!context) return;
    context.fillStyle = cssColour(colour);
    context.beginPath();
    for (const [x, y] of corners) context.lineTo(x, y);
    context.fill();
  }

  private line(
    context: CanvasRenderingContext2D,
    width: number,
    colour: InkColour,
    pattern: InkPattern,
    along: number,
  ): void {
    context.strokeStyle = cssColour(colour);
    this.broken(width, pattern, along);
    context.stroke();
  }

  private broken(width: number, pattern: InkPattern, along: number): void {
    const { context } = this;
    if (!context) return;
    context.lineWidth = width;
    context.lineJoin = 'round';
    context.setLineDash([...(strokeDashes[pattern] ?? [])]);
    context.lineDashOffset = along;
  }

  /** A tile of a broken fill in a colour; made once. */
  private tileOf(
    context: CanvasRenderingContext2D,
    pattern: 'hatched' | 'stippled',
    colour: InkColour,
  ): CanvasPattern | string {
    const name = `${pattern} ${colour}`;
    const known = this.tiles.get(name);
    if (known) return known;
    const canvas = new OffscreenCanvas(TILE, TILE);
    const tile = canvas.getContext('2d');
    if (!tile) return cssColour(colour);
    tile.fillStyle = cssColour(colour);
    tile.globalAlpha = 0.12;
    tile.fillRect(0, 0, TILE, TILE);
    tile.globalAlpha = 1;
    if (pattern === 'stippled') tile.fillRect(1, 1, 2, 2);
    else for (let k = 0; k < TILE; k++) tile.fillRect(k, TILE - 1 - k, 1.6, 1);
    const made = context.createPattern(canvas as unknown as HTMLCanvasElement, 'repeat');
    if (!made) return cssColour(colour);
    this.tiles.set(name, made);
    return made;
  }
}

function cssColour(colour: InkColour): string {
  return `rgb(${colour & 255} ${(colour >>> 8) & 255} ${(colour >>> 16) & 255} / ${(colour >>> 24) / 255})`;
}
