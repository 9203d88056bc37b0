/** Escapes text for HTML and SVG. */
export function escaped(text: string): string {
  return text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;');
}

/** One element of a drawing, with numbers rounded to hundredths of a pixel. */
export function element(name: string, attributes: Record<string, string | number>, content = ''): string {
  const words = Object.entries(attributes).map(([key, value]) => ` ${key}="${attributeText(value)}"`);
  return content === '' ? `<${name}${words.join('')}/>` : `<${name}${words.join('')}>${content}</${name}>`;
}

function attributeText(value: string | number): string {
  return typeof value === 'number' ? String(Math.round(100 * value) / 100) : escaped(value);
}

/** Text at a place; anchor start, middle or end. */
export function label(
  x: number,
  y: number,
  text: string,
  anchor = 'start',
  extra: Record<string, string> = {},
): string {
  return element('text', { x, y, 'text-anchor': anchor, ...extra }, escaped(text));
}

/** A whole drawing with a title for those who cannot see it. */
export function drawing(width: number, height: number, title: string, parts: readonly string[]): string {
  const start = `<svg viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" role="img" xmlns="http://www.w3.org/2000/svg">`;
  return `${start}<title>${escaped(title)}</title>${parts.join('')}</svg>`;
}

/** Ink and paper of the figures: a page with other paper sets the variables. */
export const figureInk = {
  grid: 'var(--figure-grid,#ddd)',
  line: 'var(--figure-line,#333)',
  paper: 'var(--figure-paper,#fff)',
  bar: 'var(--figure-bar,#9cc3dc)',
  effect: 'var(--series-1,#0072B2)',
} as const;

// Colours that people with colour-vision deficiencies tell apart (M. Okabe and K. Ito, Color Universal Design, 2008).
const COLOURS = ['#0072B2', '#D55E00', '#009E73', '#CC79A7', '#8A6D00', '#56B4E9', '#333333', '#7A3E9D'].map(
  (colour, k) => `var(--series-${k + 1},${colour})`,
);
const DASHES = ['', '7 3', '2 3', '9 3 2 3', '12 3', '4 2', '1 2', '7 2 2 2 2 2'];

/** The look of the k-th series: colour, dash and shape, so that none stands alone. */
export function seriesLook(k: number): { colour: string; dash: string } {
  return { colour: COLOURS[k % COLOURS.length], dash: DASHES[Math.floor(k + k / COLOURS.length) % DASHES.length] };
}

/** The mark of the k-th series. */
export function seriesMark(k: number, x: number, y: number): string {
  const { colour } = seriesLook(k);
  const look = { fill: k % 2 === 0 ? colour : figureInk.paper, stroke: colour, 'stroke-width': 1.5 };
  switch (k % 4) {
    case 0:
    case 1:
      return element('circle', { cx: x, cy: y, r: 3.5, ...look });
    case 2:
      return element('rect', { x: x - 3.2, y: y - 3.2, width: 6.4, height: 6.4, ...look });
    default:
      return element('path', { d: `M${x.toFixed(2)} ${(y - 4.2).toFixed(2)}l4.2 7.4h-8.4z`, ...look });
  }
}
