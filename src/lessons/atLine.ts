/** Supplies for which every lesson has a variant. */
export const lineFrequenciesHz = [50, 60] as const;
export type LineHz = (typeof lineFrequenciesHz)[number];

/**
 * Picks the variant of a text: the first of every `[[25|30]]` at 50 Hz, the second at 60 Hz.
 *
 * @example textAtLine('at [[25|30]]/s', 60) // 'at 30/s'
 */
export function textAtLine(text: string, lineHz: LineHz): string {
  return text.replace(/\[\[([^[\]|]*)\|([^[\]|]*)\]\]/g, lineHz === 50 ? '$1' : '$2');
}

/**
 * Picks the variant of a whole document: texts as above, and the right half of every `{ at50: 25, at60: 30 }`.
 *
 * @example atLine({ ratePerS: { at50: 25, at60: 30 } }, 60) // { ratePerS: 30 }
 */
export function atLine(document: unknown, lineHz: LineHz): unknown {
  if (typeof document === 'string') return textAtLine(document, lineHz);
  if (Array.isArray(document)) return document.map((entry) => atLine(entry, lineHz));
  if (typeof document !== 'object' || document === null) return document;
  const keys = Object.keys(document);
  if (keys.length === 2 && Object.hasOwn(document, 'at50') && Object.hasOwn(document, 'at60')) {
    const { at50, at60 } = document as { at50: unknown; at60: unknown };
    return atLine(lineHz === 50 ? at50 : at60, lineHz);
  }
  return Object.fromEntries(Object.entries(document).map(([key, entry]) => [key, atLine(entry, lineHz)]));
}
