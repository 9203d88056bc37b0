import { painter } from './painter.ts';
import { paletteOf } from './palette.ts';
import { VectorInk } from './vectorInk.ts';

/** A picture of the page that can be taken away. */
export interface PictureChoice {
  /** What it shows, in a few words. */
  title: string;
  /** Where it stands on the page: painted on a canvas, or drawn as SVG from the start. */
  drawing: HTMLCanvasElement | SVGSVGElement;
}

const CAPTION_LINE = 14; // px

/** The pictures that are on the screen now, in the order of the page. @param drawn - those that are SVG already */
export function picturesShown(drawn: readonly SVGSVGElement[] = []): PictureChoice[] {
  return [...painter.canvases(), ...drawn]
    .filter(({ clientWidth, clientHeight }) => clientWidth > 0 && clientHeight > 0)
    .map((drawing) => ({ title: titleOf(drawing), drawing, at: drawing.getBoundingClientRect() }))
    .sort((a, b) => a.at.top - b.at.top || a.at.left - b.at.left)
    .map(({ title, drawing }) => ({ title, drawing }));
}

/**
 * Writes a picture as SVG: the drawing, its labels, and a caption that says where it comes from.
 *
 * Colours and letters are those of the theme in force.
 */
export function pictureSvg({ title, drawing }: PictureChoice, caption: readonly string[]): string {
  const width = drawing.clientWidth;
  const height = drawing.clientHeight;
  const style = getComputedStyle(drawing);
  const ground = style.getPropertyValue('--paper').trim();
  const soft = style.getPropertyValue('--ink-soft').trim();
  const lines = caption.map(
    (line, k) =>
      `<text x="4" y="${height + CAPTION_LINE * (k + 1) - 3}" font-family="sans-serif" font-size="10" fill="${soft}">${escaped(line)}</text>`,
  );
  const whole = height + CAPTION_LINE * caption.length + (caption.length > 0 ? 3 : 0);
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${width}" height="${whole}" viewBox="0 0 ${width} ${whole}" role="img">`,
    `<title>${escaped(title)}</title>`,
    `<rect width="${width}" height="${whole}" fill="${ground}"/>`,
    drawing instanceof SVGSVGElement ? nested(drawing, width, height) : painted(drawing),
    ...lines,
    '</svg>',
  ].join('');
}

/** Turns an SVG into a PNG of twice its size, through the browser's own renderer. @throws {Error} if that fails */
export async function svgToPng(svgText: string): Promise<Blob> {
  const image = new Image();
  // A data address: the page's policy lets no blob be an image.
  image.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(svgText)}`;
  await image.decode();
  const canvas = document.createElement('canvas');
  canvas.width = 2 * image.naturalWidth;
  canvas.height = 2 * image.naturalHeight;
  canvas.getContext('2d')?.drawImage(image, 0, 0, canvas.width, canvas.height);
  return new Promise((resolve, reject) => {
    canvas.toBlob(
      (blob) => (blob ? resolve(blob) : reject(new Error('svgToPng: the browser gave no picture'))),
      'image/png',
    );
  });
}

/** What a canvas shows, drawn once more as vectors, with the labels that lie over it. */
function painted(canvas: HTMLCanvasElement): string {
  const ink = new VectorInk();
  painter.drawWith(canvas, ink, paletteOf(canvas));
  const labels = canvas.parentElement?.querySelector('svg');
  return `${ink.markup()}${labels ? labelMarkup(labels) : ''}`;
}

function nested(drawing: SVGSVGElement, width: number, height: number): string {
  const viewBox = drawing.getAttribute('viewBox') ?? `0 0 ${width} ${height}`;
  return `<svg width="${width}" height="${height}" viewBox="${viewBox}">${labelMarkup(drawing)}</svg>`;
}

/** Its own title, or the first words of the sentence that a screen reader is given. */
function titleOf(drawing: Element): string {
  const named = drawing.closest<HTMLElement>('[data-title]')?.dataset.title;
  if (named) return named;
  const sentence = drawing.closest('[role=img], [aria-label]')?.getAttribute('aria-label') ?? 'Picture';
  return sentence.split(/[:.;] |[.:;]$|, logarithmic/)[0].slice(0, 70);
}

const LABEL_PROPERTIES = [
  ...['fill', 'fill-opacity', 'stroke', 'stroke-width', 'stroke-dasharray', 'stroke-linecap', 'stroke-opacity'],
  ...['opacity', 'paint-order'],
  ...['font-family', 'font-size', 'font-style', 'font-weight', 'text-anchor', 'display', 'visibility'],
];

/** Copies the labels of a picture with the styles that the page gives them, since a file has no style sheet. */
function labelMarkup(labels: SVGSVGElement): string {
  const copy = labels.cloneNode(true) as SVGSVGElement;
  const originals = labels.querySelectorAll('*');
  for (const [k, element] of copy.querySelectorAll('*').entries()) {
    const style = getComputedStyle(originals[k]);
    element.removeAttribute('class');
    element.removeAttribute('style');
    for (const property of LABEL_PROPERTIES) element.setAttribute(property, style.getPropertyValue(property));
  }
  const serializer = new XMLSerializer();
  const parts = [...copy.children].map((child) => serializer.serializeToString(child));
  return `<g>${parts.join('').replace(/<!--.*?-->/gs, '')}</g>`;
}

function escaped(text: string): string {
  return text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;');
}
