import 'pixi.js/unsafe-eval';
import 'pixi.js/mesh';
import { Container, type Geometry, Mesh, type Shader, WebGLRenderer } from 'pixi.js';
import { inkShader } from './inkShader.ts';
import { MeshInk } from './meshInk.ts';
import type { Palette } from './palette.ts';
import type { DuePlate, Plate } from './plate.ts';

const GUTTER = 4; // device pixels between pictures on the shared canvas

/**
 * Draws pictures with one WebGL context: beside each other on a hidden canvas, then copied to their own canvases.
 *
 * So the pictures scroll, stack and zoom like any other element, and a lost context is one context.
 */
export class GlStage {
  private readonly renderer: WebGLRenderer;
  private readonly stage = new Container();
  private readonly shader = inkShader();
  private readonly prints = new Map<Plate, { ink: MeshInk; mesh: Mesh<Geometry, Shader> }>();
  private width = 0;
  private height = 0;

  private constructor(renderer: WebGLRenderer) {
    this.renderer = renderer;
  }

  /** @param onRestored - called when a lost context has come back  @throws {Error} if the browser has no WebGL 2 */
  static async open(onRestored: () => void): Promise<GlStage> {
    const renderer = new WebGLRenderer();
    await renderer.init({
      skipExtensionImports: true,
      antialias: false,
      backgroundAlpha: 0,
      width: 16,
      height: 16,
      preferWebGLVersion: 2,
    });
    renderer.canvas.addEventListener?.('webglcontextrestored', onRestored);
    return new GlStage(renderer);
  }

  /** True while the context is lost: pictures stay as they are. */
  get isLost(): boolean {
    return this.renderer.context.isLost;
  }

  /** Draws some pictures, each on a canvas of its size in device pixels. */
  paint(due: readonly DuePlate[], ratio: number, palette: Palette): void {
    for (const { mesh } of this.prints.values()) mesh.visible = false;
    const placed: { canvas: HTMLCanvasElement; y: number }[] = [];
    let y = 0;
    let width = this.width;
    for (const { plate, width: widthPx, height: heightPx } of due) {
      const { canvas, draw } = plate;
      const { ink, mesh } = this.printOf(plate);
      ink.clear(ratio);
      draw(ink, widthPx, heightPx, palette);
      wipe(canvas);
      if (ink.isEmpty) continue;
      ink.upload();
      mesh.visible = true;
      mesh.position.set(0, y);
      placed.push({ canvas, y });
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
    for (const { canvas, y: top } of placed) {
      const { width: w, height: h } = canvas;
      canvas.getContext('2d')?.drawImage(this.renderer.canvas as HTMLCanvasElement, 0, top, w, h, 0, 0, w, h);
    }
  }

  /** Lets go of a picture. */
  remove(plate: Plate): void {
    const print = this.prints.get(plate);
    this.prints.delete(plate);
    print?.mesh.destroy();
    print?.ink.geometry.destroy(true);
  }

  private printOf(plate: Plate): { ink: MeshInk; mesh: Mesh<Geometry, Shader> } {
    const known = this.prints.get(plate);
    if (known) return known;
    const ink = new MeshInk();
    const mesh = new Mesh<Geometry, Shader>({ geometry: ink.geometry, shader: this.shader });
    this.stage.addChild(mesh);
    const print = { ink, mesh };
    this.prints.set(plate, print);
    return print;
  }
}

/** Leaves nothing of what was drawn, nor of how: another ink may have set its scale. */
function wipe(canvas: HTMLCanvasElement): void {
  const context = canvas.getContext('2d');
  context?.setTransform(1, 0, 0, 1, 0, 0);
  context?.clearRect(0, 0, canvas.width, canvas.height);
}
