import type { LitElement, ReactiveController } from 'lit';
import { type Picture, painter } from '../stage/painter.ts';
import type { Draw } from '../stage/plate.ts';

/** Gives an element one canvas on the shared stage, and its size to lay labels over it. */
export class PictureController implements ReactiveController {
  /** CSS pixels; 0 before the first layout. */
  width = 0;
  height = 0;
  private readonly host: LitElement;
  private readonly draw: Draw;
  private readonly selector: string;
  private picture: Picture | null = null;
  private canvas: HTMLCanvasElement | null = null;
  private observer: ResizeObserver | null = null;

  constructor(host: LitElement, draw: Draw, selector = 'canvas') {
    this.host = host;
    this.draw = draw;
    this.selector = selector;
    host.addController(this);
  }

  hostUpdated(): void {
    if (!this.host.isConnected) return; // an update that was on its way when the element left would never be let go of
    const canvas = this.host.renderRoot.querySelector<HTMLCanvasElement>(this.selector);
    if (canvas === this.canvas) return;
    this.release(); // a picture that comes and goes with its numbers has a canvas of its own each time
    if (!canvas) return;
    this.canvas = canvas;
    this.picture = painter.add(canvas, this.draw);
    this.observer = new ResizeObserver(() => {
      this.width = canvas.clientWidth;
      this.height = canvas.clientHeight;
      this.host.requestUpdate();
    });
    this.observer.observe(canvas);
  }

  hostDisconnected(): void {
    this.release();
  }

  /** Asks for a redraw in the next frame. */
  invalidate(): void {
    this.picture?.invalidate();
  }

  private release(): void {
    this.observer?.disconnect();
    this.picture?.remove();
    this.picture = null;
    this.canvas = null;
  }
}
