import type { Figure } from './schema.ts';

/** Figures of what is read off the averages: peaks, ratios, and how far to trust them. */
const readingFigureKinds = [
  'peak-latency',
  'peak-truth',
  'latency-error',
  'peak-within',
  'peak-clear',
  'read-value',
  'read-truth',
  'read-error',
  'read-width',
  'read-coverage',
  'read-decided',
] as const;

/** A figure of a reading. */
export type ReadingFigure = Extract<Figure, { figure: (typeof readingFigureKinds)[number] }>;

export function isReadingFigure(figure: Figure): figure is ReadingFigure {
  return (readingFigureKinds as readonly string[]).includes(figure.figure);
}
