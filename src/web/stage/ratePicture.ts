import type { Bench } from '../model/bench.ts';
import { HARMONICS, harmonicDistance, LOCKED, lockDistances, rateBounds, traces } from '../model/rateAdvice.ts';
import type { Ink } from './ink.ts';
import { faded, type InkColour, type Palette } from './palette.ts';
import { linearScale, type Scale } from './scale.ts';

const MARGIN = { left: 96, right: 8, top: 2, bottom: 16 };
const COLUMN = 2; // px: finer is not visible, and costs twice the quads
const GAP = 6; // px between harmonics and traces

/** Where the map lies: rates across, harmonics and then traces from the top. */
export interface RateAxes {
  ratePerS: Scale;
  rowHeight: number;
  rowTop(row: number): number;
}

/** Rows 0 … 6 are harmonics 1 … 7, rows 7 … 9 the traces. */
export function rateAxes({ scenario }: Bench, width: number, height: number): RateAxes {
  const { from, to } = rateBounds(scenario);
  const rowHeight = (height - MARGIN.top - MARGIN.bottom - GAP) / (HARMONICS + traces.length);
  return {
    ratePerS: linearScale(from, to, MARGIN.left, width - MARGIN.right),
    rowHeight,
    rowTop: (row) => MARGIN.top + row * rowHeight + (row >= HARMONICS ? GAP : 0),
  };
}

/** The rate under a horizontal position, px. */
export function rateAt(bench: Bench, x: number, width: number): number {
  const { from, to } = rateBounds(bench.scenario);
  const share = (x - MARGIN.left) / (width - MARGIN.right - MARGIN.left);
  return Math.min(to, Math.max(from, Number((from + share * (to - from)).toFixed(1))));
}

/** Draws the lock map of one supply: the stronger the ink, the nearer to a lock; hatched where locked. */
export function drawRates(
  bench: Bench,
  lineHz: number,
  ink: Ink,
  width: number,
  height: number,
  palette: Palette,
): void {
  const { ratePerS: x, rowHeight, rowTop } = rateAxes(bench, width, height);
  for (let left = x(x.from); left < x(x.to); left += COLUMN) {
    const rate = x.from + ((left + COLUMN / 2 - x(x.from)) / (x(x.to) - x(x.from))) * (x.to - x.from);
    for (let harmonic = 1; harmonic <= HARMONICS; harmonic++) {
      cell(ink, left, rowTop(harmonic - 1), rowHeight, harmonicDistance(rate, lineHz, harmonic), palette);
    }
    for (const [k, distance] of lockDistances(rate, lineHz).entries()) {
      cell(ink, left, rowTop(HARMONICS + k), rowHeight, distance, palette);
    }
  }
  const at = x(bench.scenario.stimulus.ratePerS);
  ink.segment(at, 0, at, height - MARGIN.bottom + 4, 2, palette.ink);
}

function cell(ink: Ink, left: number, top: number, height: number, distance: number, palette: Palette): void {
  const [right, bottom] = [left + COLUMN, top + height - 1];
  const near = 1 - distance / 0.5;
  const colour: InkColour = faded(palette.ink, 0.04 + 0.5 * near ** 3);
  ink.fill(left, top, right, bottom, colour);
  if (distance < LOCKED) ink.fill(left, top, right, bottom, palette.flag, 'hatched');
}
