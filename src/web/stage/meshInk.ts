import { Buffer, BufferUsage, Geometry } from 'pixi.js';
import type { Ink, InkPattern } from './ink.ts';
import { patternCodes } from './inkShader.ts';
import type { InkColour } from './palette.ts';

const FLOATS_PER_VERTEX = 7; // x, y, across, half width, along, pattern, colour
const VERTICES_PER_QUAD = 4;

/**
 * Ink of the graphics card: gathers the strokes and fills of one picture into one buffer of quads.
 *
 * One mesh with one shader draws everything: with software
 * rendering that is several times faster than redrawing pixi's Graphics for every frame.
 */
export class MeshInk implements Ink {
  readonly geometry: Geometry;
  private floats = new Float32Array(0);
  private words = new Uint32Array(0);
  private readonly vertices: Buffer;
  private readonly indices: Buffer;
  private quadCount = 0;
  private pixelRatio = 1;

  constructor() {
    this.vertices = new Buffer({ data: this.floats, usage: BufferUsage.VERTEX | BufferUsage.COPY_DST });
    this.indices = new Buffer({ data: new Uint32Array(0), usage: BufferUsage.INDEX | BufferUsage.COPY_DST });
    const stride = 4 * FLOATS_PER_VERTEX;
    const buffer = this.vertices;
    this.geometry = new Geometry({
      attributes: {
        aPosition: { buffer, format: 'float32x2', stride, offset: 0 },
        aShape: { buffer, format: 'float32x4', stride, offset: 8 },
        aColour: { buffer, format: 'unorm8x4', stride, offset: 24 },
      },
      indexBuffer: this.indices,
    });
    this.reserve(256);
  }

  /** Forgets everything drawn. */
  clear(pixelRatio: number): void {
    this.quadCount = 0;
    this.pixelRatio = pixelRatio;
  }

  get isEmpty(): boolean {
    return this.quadCount === 0;
  }

  /** Hands what was drawn to the graphics card. */
  upload(): void {
    this.geometry.indexCount = 6 * this.quadCount;
    this.vertices.update(this.quadCount * VERTICES_PER_QUAD * FLOATS_PER_VERTEX * 4);
  }

  /** A filled rectangle; corners in any order. */
  fill(x0: number, y0: number, x1: number, y1: number, colour: InkColour, pattern: InkPattern = 'solid'): void {
    const halfWidth = (Math.abs(y1 - y0) * this.pixelRatio) / 2;
    if (!(halfWidth > 0)) return;
    const code = patternCodes[pattern];
    const length = Math.abs(x1 - x0) * this.pixelRatio;
    this.quad(x0, y0, x0, y1, x1, y0, x1, y1, halfWidth, halfWidth, 0, length, code, colour);
  }

  /** A filled band between two curves at the same x positions; NaN leaves a gap. */
  band(
    xs: ArrayLike<number>,
    lows: ArrayLike<number>,
    highs: ArrayLike<number>,
    count: number,
    colour: InkColour,
  ): void {
    for (let i = 1; i < count; i++) {
      if (Number.isNaN(lows[i]) || Number.isNaN(lows[i - 1])) continue;
      this.quad(
        xs[i - 1],
        lows[i - 1],
        xs[i - 1],
        highs[i - 1],
        xs[i],
        lows[i],
        xs[i],
        highs[i],
        0,
        1,
        0,
        0,
        0,
        colour,
      );
    }
  }

  /** A stroke through points; NaN leaves a gap. */
  stroke(
    xs: ArrayLike<number>,
    ys: ArrayLike<number>,
    count: number,
    width: number,
    colour: InkColour,
    pattern: InkPattern = 'solid',
  ): void {
    let along = 0;
    for (let i = 1; i < count; i++)
      along = this.segment(xs[i - 1], ys[i - 1], xs[i], ys[i], width, colour, pattern, along);
  }

  /** One straight stroke. @returns the distance along at its end */
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
    const dx = x1 - x0;
    const dy = y1 - y0;
    const length = Math.hypot(dx, dy);
    if (!(length > 0)) return along;
    const ratio = this.pixelRatio;
    const half = (width * ratio) / 2;
    const reach = (half + 1) / ratio; // one pixel for the feather
    const nx = (-dy / length) * reach;
    const ny = (dx / length) * reach;
    const ex = (dx / length) * (width / 4); // lets the segments of a sharp turn meet
    const ey = (dy / length) * (width / 4);
    const code = patternCodes[pattern];
    const end = along + length;
    this.quad(
      x0 - ex + nx,
      y0 - ey + ny,
      x0 - ex - nx,
      y0 - ey - ny,
      x1 + ex + nx,
      y1 + ey + ny,
      x1 + ex - nx,
      y1 + ey - ny,
      half + 1,
      half,
      along,
      end,
      code,
      colour,
    );
    return end;
  }

  /** A filled convex shape around its first corner, for end markers. */
  shape(corners: readonly (readonly [number, number])[], colour: InkColour): void {
    for (let i = 2; i < corners.length; i++) {
      const [ax, ay] = corners[0];
      const [bx, by] = corners[i - 1];
      const [cx, cy] = corners[i];
      this.quad(ax, ay, bx, by, cx, cy, cx, cy, 0, 1, 0, 0, 0, colour);
    }
  }

  private quad(
    ax: number,
    ay: number,
    bx: number,
    by: number,
    cx: number,
    cy: number,
    dx: number,
    dy: number,
    across: number,
    halfWidth: number,
    alongFrom: number,
    alongTo: number,
    pattern: number,
    colour: InkColour,
  ): void {
    if (4 * this.quadCount * FLOATS_PER_VERTEX >= this.floats.length) this.reserve(2 * this.quadCount);
    let at = this.quadCount * VERTICES_PER_QUAD * FLOATS_PER_VERTEX;
    at = this.vertex(at, ax, ay, across, halfWidth, alongFrom, pattern, colour);
    at = this.vertex(at, bx, by, -across, halfWidth, alongFrom, pattern, colour);
    at = this.vertex(at, cx, cy, across, halfWidth, alongTo, pattern, colour);
    this.vertex(at, dx, dy, -across, halfWidth, alongTo, pattern, colour);
    this.quadCount++;
  }

  private vertex(
    at: number,
    x: number,
    y: number,
    across: number,
    halfWidth: number,
    along: number,
    pattern: number,
    colour: InkColour,
  ): number {
    const { floats, pixelRatio } = this;
    floats[at] = x * pixelRatio;
    floats[at + 1] = y * pixelRatio;
    floats[at + 2] = across;
    floats[at + 3] = halfWidth;
    floats[at + 4] = along;
    floats[at + 5] = pattern;
    this.words[at + 6] = colour;
    return at + FLOATS_PER_VERTEX;
  }

  private reserve(quads: number): void {
    const grown = new Float32Array(quads * VERTICES_PER_QUAD * FLOATS_PER_VERTEX);
    grown.set(this.floats.subarray(0, grown.length));
    this.floats = grown;
    this.words = new Uint32Array(grown.buffer);
    const indices = new Uint32Array(6 * quads);
    for (let q = 0; q < quads; q++) {
      for (const [j, corner] of [0, 1, 2, 2, 1, 3].entries()) indices[6 * q + j] = 4 * q + corner;
    }
    this.vertices.data = grown;
    this.indices.data = indices;
  }
}
