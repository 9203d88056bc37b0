/** A colour as the ink wants it: bytes red, green, blue, alpha from the lowest. */
export type InkColour = number;

/** The colours of the pictures, read from the page's own custom properties, so that themes live in one place. */
export interface Palette {
  ink: InkColour;
  faint: InkColour;
  rule: InkColour;
  truth: InkColour;
  target: InkColour;
  flag: InkColour;
  lanes: InkColour[];
}

/** Reads the palette in force at an element. @throws {RangeError} if a custom property is no six-digit colour */
export function paletteOf(element: Element): Palette {
  const style = getComputedStyle(element);
  const colour = (name: string) => inkColour(style.getPropertyValue(name).trim());
  return {
    ink: colour('--ink'),
    faint: colour('--ink-faint'),
    rule: colour('--rule'),
    truth: colour('--truth'),
    target: colour('--target'),
    flag: colour('--flag'),
    lanes: ['--lane-a', '--lane-b', '--lane-c', '--lane-d', '--lane-e', '--lane-f'].map(colour),
  };
}

/** Packs `#rrggbb`. */
function inkColour(hex: string): InkColour {
  if (!/^#[0-9a-f]{6}$/i.test(hex)) throw new RangeError(`inkColour: must be #rrggbb, got "${hex}"`);
  const value = Number.parseInt(hex.slice(1), 16);
  return ((255 << 24) | ((value & 255) << 16) | (value & 0xff00) | (value >> 16)) >>> 0;
}

/** The same colour, more transparent; 0 is invisible and 1 opaque. */
export function faded(colour: InkColour, opacity: number): InkColour {
  return ((colour & 0xffffff) | (Math.round(255 * opacity) << 24)) >>> 0;
}
