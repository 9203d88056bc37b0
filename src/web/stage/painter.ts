import { CanvasInk } from './canvasInk.ts';
import type { GlStage } from './glStage.ts';
import type { Ink } from './ink.ts';
import { type Palette, paletteOf } from './palette.ts';
import type { Draw, DuePlate, Plate } from './plate.ts';

const FRAME_SHARE = 6; // pictures in one frame: those of four lanes, with race and belt, take two frames in turn
const MAX_PIXEL_RATIO = 2; // finer is not visible in a trace and costs four times the fill

/** One picture on the page. */
export interface Picture {
  /** Asks for a redraw in the next frame. */
  invalidate(): void;
  /** Takes the picture off the stage. */
  remove(): void;
}

/**
 * Draws all pictures of the page: in each animation frame some of the dirty ones, those first that waited longest.
 *
 * The graphics card draws them as soon as its code is there. Until then, and in browsers without WebGL 2, each picture
 * is drawn on its own canvas: slower, and nothing is missing.
 */
class Painter {
  private readonly plates = new Set<Plate>();
  private readonly observer: ResizeObserver;
  private readonly canvasInk = new CanvasInk();
  private glStage: GlStage | null = null;
  private palette: Palette | null = null;
  private frame = 0;
  private frameCount = 0;
  private isAllDue = false;

  constructor() {
    this.observer = new ResizeObserver(() => this.invalidateAll());
    matchMedia('(prefers-color-scheme: dark)').addEventListener('change', () => this.invalidateAll());
  }

  /** Brings in the graphics card; does nothing if the browser has no WebGL 2. */
  async start(): Promise<void> {
    try {
      const { GlStage } = await import('./glStage.ts');
      this.glStage = await GlStage.open(() => this.invalidateAll());
    } catch {
      return; // the canvases go on
    }
    this.invalidateAll();
  }

  /** Puts a picture on the stage; it is drawn in the next frame. */
  add(canvas: HTMLCanvasElement, draw: Draw): Picture {
    const plate: Plate = { canvas, draw, dirty: true, drawnIn: 0 };
    this.plates.add(plate);
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
        this.glStage?.remove(plate);
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
    this.isAllDue = true;
    for (const plate of this.plates) plate.dirty = true;
    this.schedule();
  }

  private schedule(): void {
    if (this.frame === 0) this.frame = requestAnimationFrame(() => this.paint());
  }

  private paint(): void {
    this.frame = 0;
    const { glStage } = this;
    if (glStage?.isLost) return; // pictures stay as they are; all is drawn anew once it is restored
    const ratio = Math.min(MAX_PIXEL_RATIO, globalThis.devicePixelRatio || 1);
    this.palette ??= paletteOf(document.documentElement);
    const due = this.due();
    for (const { plate, width, height } of due) {
      plate.dirty = false;
      plate.drawnIn = this.frameCount;
      setSize(plate.canvas, Math.round(width * ratio), Math.round(height * ratio));
    }
    if (glStage) {
      glStage.paint(due, ratio, this.palette);
      return;
    }
    for (const { plate, width, height } of due) {
      this.canvasInk.aim(plate.canvas, ratio);
      plate.draw(this.canvasInk, width, height, this.palette);
    }
  }

  /** Those that are drawn now. All sizes are read before any is set: each change between would lay out the page anew. */
  private due(): DuePlate[] {
    this.frameCount++;
    const due: DuePlate[] = [];
    for (const plate of this.plates) {
      if (!plate.dirty) continue;
      const { clientWidth: width, clientHeight: height } = plate.canvas;
      if (width > 0 && height > 0) due.push({ plate, width, height });
    }
    const share = this.isAllDue ? due.length : FRAME_SHARE;
    this.isAllDue = false;
    if (due.length <= share) return due;
    this.schedule();
    return due.sort((a, b) => a.plate.drawnIn - b.plate.drawnIn).slice(0, share);
  }
}

/** Sets only what differs: setting the same size wipes the canvas and works out its style once more. */
function setSize(canvas: HTMLCanvasElement, width: number, height: number): void {
  if (canvas.width !== width) canvas.width = width;
  if (canvas.height !== height) canvas.height = height;
}

/** The page's one painter. */
export const painter = new Painter();
