import type { Ink, InkPattern } from './ink.ts';
import type { InkColour } from './palette.ts';

/** What tells a lane apart besides its colour: line pattern, end marker. In the order of the lanes. */
export const laneMarks: readonly {
  pattern: InkPattern;
  marker: 'disc' | 'square' | 'wedge' | 'diamond' | 'vee' | 'cross';
}[] = [
  { pattern: 'solid', marker: 'disc' },
  { pattern: 'dashes', marker: 'square' },
  { pattern: 'dots', marker: 'wedge' },
  { pattern: 'dash-dot', marker: 'diamond' },
  { pattern: 'long-dashes', marker: 'vee' },
  { pattern: 'dash-dot-dot', marker: 'cross' },
];

const cornerCounts = { disc: 16, square: 4, wedge: 3, diamond: 4, vee: 3, cross: 4 };

/** Draws the end marker of a lane; hollow for a lane whose low noise does not count. */
export function drawMarker(ink: Ink, lane: number, x: number, y: number, colour: InkColour, hollow: boolean): void {
  const { marker } = laneMarks[lane];
  const count = cornerCounts[marker];
  if (marker === 'cross') {
    const half = hollow ? 0.9 : 2; // px: a thin cross is the hollow one
    ink.fill(x - 5.5, y - half, x + 5.5, y + half, colour);
    ink.fill(x - half, y - 5.5, x + half, y + 5.5, colour);
    return;
  }
  const turn = { disc: 0, square: Math.PI / 4, wedge: 0, diamond: 0, vee: Math.PI }[marker];
  const radius = marker === 'disc' ? 4.5 : 5.8;
  const corners: [number, number][] = [];
  for (let k = 0; k < count; k++) {
    const angle = -Math.PI / 2 + turn + (2 * Math.PI * k) / count;
    corners.push([x + radius * Math.cos(angle), y + radius * Math.sin(angle)]);
  }
  if (!hollow) {
    ink.shape(corners, colour);
    return;
  }
  for (const [k, corner] of corners.entries()) {
    const next = corners[(k + 1) % count];
    ink.segment(corner[0], corner[1], next[0], next[1], 1.6, colour);
  }
}
