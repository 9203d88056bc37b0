import { type Ink, type InkPattern, strokeDashes } from './ink.ts';
import type { InkColour } from './palette.ts';

/** Ink that writes SVG: the same drawing as on the screen, at any size. */
export class VectorInk implements Ink {
  private readonly parts: string[] = [];
  private readonly usedPatterns = new Set<string>();

  get isEmpty(): boolean {
    return this.parts.length === 0;
  }

  /** Definitions and drawing, to stand within an `<svg>` element. */
  markup(): string {
    const definitions = this.usedPatterns.size > 0 ? `<defs>${[...this.usedPatterns].join('')}</defs>` : '';
    return `${definitions}<g stroke-linejoin="round">${this.parts.join('')}</g>`;
  }

  fill(x0: number, y0: number, x1: number, y1: number, colour: InkColour, pattern: InkPattern = 'solid'): void {
    const width = Math.abs(x1 - x0);
    const height = Math.abs(y1 - y0);
    if (!(width > 0 && height > 0)) return;
    const at = `x="${shown(Math.min(x0, x1))}" y="${shown(Math.min(y0, y1))}" width="${shown(width)}" height="${shown(height)}"`;
    if (pattern === 'open') {
      this.parts.push(`<rect ${at} fill="none" ${paint('stroke', colour)} stroke-width="1"/>`);
    } else if (pattern === 'hatched' || pattern === 'stippled') {
      this.parts.push(`<rect ${at} fill="url(#${this.patternOf(pattern, colour)})"/>`);
    } else {
      this.parts.push(`<rect ${at} ${paint('fill', colour)}/>`);
    }
  }

  band(
    xs: ArrayLike<number>,
    lows: ArrayLike<number>,
    highs: ArrayLike<number>,
    count: number,
    colour: InkColour,
  ): void {
    let there: string[] = [];
    let back: string[] = [];
    const close = () => {
      if (there.length > 1) {
        this.parts.push(`<path d="M${there.join('L')}L${back.reverse().join('L')}Z" ${paint('fill', colour)}/>`);
      }
      there = [];
      back = [];
    };
    for (let i = 0; i < count; i++) {
      if (Number.isNaN(lows[i])) close();
      else {
        there.push(`${shown(xs[i])} ${shown(lows[i])}`);
        back.push(`${shown(xs[i])} ${shown(highs[i])}`);
      }
    }
    close();
  }

  stroke(
    xs: ArrayLike<number>,
    ys: ArrayLike<number>,
    count: number,
    width: number,
    colour: InkColour,
    pattern: InkPattern = 'solid',
  ): void {
    let path = '';
    let isOpen = false;
    for (let i = 0; i < count; i++) {
      const drawn = !(Number.isNaN(ys[i]) || Number.isNaN(xs[i]));
      if (drawn) path += `${isOpen ? 'L' : 'M'}${shown(xs[i])} ${shown(ys[i])}`;
      isOpen = drawn;
    }
    if (path !== '') this.line(path, width, colour, pattern);
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
    if (!(length > 0)) return along;
    this.line(`M${shown(x0)} ${shown(y0)}L${shown(x1)} ${shown(y1)}`, width, colour, pattern, along);
    return along + length;
  }

  shape(corners: readonly (readonly [number, number])[], colour: InkColour): void {
    const points = corners.map(([x, y]) => `${shown(x)},${shown(y)}`).join(' ');
    this.parts.push(`<polygon points="${points}" ${paint('fill', colour)}/>`);
  }

  private line(path: string, width: number, colour: InkColour, pattern: InkPattern, along = 0): void {
    const dash = strokeDashes[pattern]?.join(' ');
    const offset = along > 0 ? ` stroke-dashoffset="${shown(along)}"` : '';
    const broken = dash ? ` stroke-dasharray="${dash}"${offset}` : '';
    this.parts.push(
      `<path d="${path}" fill="none" ${paint('stroke', colour)} stroke-width="${shown(width)}"${broken}/>`,
    );
  }

  /** The id of a fill pattern in a colour; defined once. */
  private patternOf(pattern: 'hatched' | 'stippled', colour: InkColour): string {
    const id = `${pattern}-${colour.toString(16)}`;
    const mark =
      pattern === 'hatched'
        ? `<path d="M-1 1L1 -1M0 5L5 0M4 6L6 4" fill="none" ${paint('stroke', colour)} stroke-width="1.2"/>`
        : `<circle cx="2" cy="2" r="1.1" ${paint('fill', colour)}/>`;
    const size = pattern === 'hatched' ? 5 : 4;
    this.usedPatterns.add(
      `<pattern id="${id}" width="${size}" height="${size}" patternUnits="userSpaceOnUse">${mark}</pattern>`,
    );
    return id;
  }
}

/** A colour as SVG wants it. */
function paint(property: 'fill' | 'stroke', colour: InkColour): string {
  const byte = (shift: number) => ((colour >>> shift) & 255).toString(16).padStart(2, '0');
  const opacity = colour >>> 24;
  const clear = opacity === 255 ? '' : ` ${property}-opacity="${shown(opacity / 255)}"`;
  return `${property}="#${byte(0)}${byte(8)}${byte(16)}"${clear}`;
}

/** A hundredth of a pixel is finer than any screen or printer shows. */
function shown(value: number): string {
  return String(Math.round(100 * value) / 100);
}
