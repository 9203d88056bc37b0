import 'pixi.js/unsafe-eval';
import 'pixi.js/mesh';
import { Container, type Geometry, Mesh, type Shader, WebGLRenderer } from 'pixi.js';
import { CanvasInk } from './canvasInk.ts';
import { Ink } from './ink.ts';
import { inkShader } from './inkShader.ts';
import { type Palette, paletteOf } from './palette.ts';

const GUTTER = 4; // device pixels between pictures on the shared canvas
const MAX_PIXEL_RATIO = 2; // finer is not visible in a trace and costs four times the fill

/** Draws a picture of the given size, CSS pixels. */
export type Draw = (ink: Ink, width: number, height: number, palette: Palette) => void;

/** One picture on the page. */
export interface Picture {
  /** Asks for a redraw in the next frame. */
  invalidate(): void;
  /** Takes the picture off the stage. */
  remove(): void;
}

interface Plate {
  canvas: HTMLCanvasElement;
  draw: Draw;
  ink: Ink;
  mesh: Mesh<Geometry, Shader>;
  dirty: boolean;
}

/**
 * Draws all pictures of the page with one WebGL context.
 *
 * Dirty pictures are drawn beside each other on a hidden canvas, once per animation frame, and copied to the canvases
 * of their elements. So the pictures scroll, stack and zoom like any other element, and a lost context is one context.
 * Where the browser has no WebGL 2, each picture is drawn on its own canvas instead: slower, and nothing is missing.
 */
class Painter {
  private readonly plates = new Set<Plate>();
  private readonly renderer = new WebGLRenderer();
  private readonly stage = new Container();
  private readonly observer: ResizeObserver;
  private readonly shader = inkShader();
  private started = false;
  private canvasInk: CanvasInk | null = null;
  private palette: Palette | null = null;
  private frame = 0;
  private width = 0;
  private height = 0;

  constructor() {
    this.observer = new ResizeObserver(() => this.invalidateAll());
    matchMedia('(prefers-color-scheme: dark)').addEventListener('change', () => this.invalidateAll());
  }

  /** Starts the renderer. */
  async start(): Promise<void> {
    try {
      await this.renderer.init({
        skipExtensionImports: true,
        antialias: false,
        backgroundAlpha: 0,
        width: 16,
        height: 16,
        preferWebGLVersion: 2,
      });
      this.renderer.canvas.addEventListener?.('webglcontextrestored', () => this.invalidateAll());
    } catch {
      this.canvasInk = new CanvasInk(); // no WebGL 2 in this browser
    }
    this.started = true;
    this.invalidateAll();
  }

  /** Puts a picture on the stage; it is drawn in the next frame. */
  add(canvas: HTMLCanvasElement, draw: Draw): Picture {
    const ink = new Ink();
    const mesh = new Mesh<Geometry, Shader>({ geometry: ink.geometry, shader: this.shader });
    const plate: Plate = { canvas, draw, ink, mesh, dirty: true };
    this.plates.add(plate);
    this.stage.addChild(mesh);
    this.observer.observe(canvas);
    this.schedule();
    return {
      invalidate: () => {
        plate.dirty = true;
        this.schedule();
      },
      remove: () => {
        this.plates.delete(plate);
        this.observer.unobserve(canvas);
        mesh.destroy();
        ink.geometry.destroy(true);
      },
    };
  }

  /** The canvases of all pictures, in the order of the page. */
  canvases(): HTMLCanvasElement[] {
    return [...this.plates].map(({ canvas }) => canvas);
  }

  /** Draws one picture with another ink, for instance into a file. */
  drawWith(canvas: HTMLCanvasElement, ink: Ink, palette: Palette): void {
    for (const plate of this.plates) {
      if (plate.canvas === canvas) plate.draw(ink, canvas.clientWidth, canvas.clientHeight, palette);
    }
  }

  /** Draws everything anew, for instance in other colours. */
  invalidateAll(): void {
    this.palette = null;
    for (const plate of this.plates) plate.dirty = true;
    this.schedule();
  }

  private schedule(): void {
    if (this.frame === 0 && this.started) this.frame = requestAnimationFrame(() => this.paint());
  }

  private paint(): void {
    this.frame = 0;
    if (this.canvasInk) {
      this.paintFlat(this.canvasInk);
      return;
    }
    if (this.renderer.context.isLost) return; // pictures stay as they are; all is drawn anew once it is restored
    const ratio = pixelRatio();
    this.palette ??= paletteOf(document.documentElement);
    const placed: { plate: Plate; x: number; y: number }[] = [];
    let y = 0;
    let width = this.width;
    for (const plate of this.plates) {
      const { canvas, ink, mesh } = plate;
      mesh.visible = false;
      const { clientWidth, clientHeight } = canvas;
      if (!plate.dirty || clientWidth === 0 || clientHeight === 0) continue;
      plate.dirty = false;
      canvas.width = Math.round(clientWidth * ratio);
      canvas.height = Math.round(clientHeight * ratio);
      ink.clear(ratio);
      plate.draw(ink, clientWidth, clientHeight, this.palette);
      if (ink.isEmpty) continue;
      ink.upload();
      mesh.visible = true;
      mesh.position.set(0, y);
      placed.push({ plate, x: 0, y });
      y += canvas.height + GUTTER;
      width = Math.max(width, canvas.width);
    }
    if (placed.length === 0) return;
    if (width > this.width || y > this.height) {
      this.width = width;
      this.height = Math.max(this.height, y);
      this.renderer.resize(this.width, this.height, 1);
    }
    this.renderer.render({ container: this.stage });
    for (const { plate, x, y: top } of placed) {
      const { canvas } = plate;
      const { width: w, height: h } = canvas;
      canvas.getContext('2d')?.drawImage(this.renderer.canvas as HTMLCanvasElement, x, top, w, h, 0, 0, w, h);
    }
  }

  private paintFlat(ink: CanvasInk): void {
    const ratio = pixelRatio();
    this.palette ??= paletteOf(document.documentElement);
    for (const plate of this.plates) {
      const { canvas } = plate;
      const { clientWidth, clientHeight } = canvas;
      if (!plate.dirty || clientWidth === 0 || clientHeight === 0) continue;
      plate.dirty = false;
      canvas.width = Math.round(clientWidth * ratio);
      canvas.height = Math.round(clientHeight * ratio);
      ink.aim(canvas, ratio);
      plate.draw(ink, clientWidth, clientHeight, this.palette);
    }
  }
}

function pixelRatio(): number {
  return Math.min(MAX_PIXEL_RATIO, globalThis.devicePixelRatio || 1);
}

/** The page's one painter. */
export const painter = new Painter();
