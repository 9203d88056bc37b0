import type { Bench } from '../model/bench.ts';
import { weightReasons } from '../worker/protocol.ts';
import { drawEventTick } from './beltPicture.ts';
import type { Ink } from './ink.ts';
import { faded, type Palette } from './palette.ts';
import { logScale, type Scale } from './scale.ts';

const MARGIN = { left: 28, right: 4, top: 4, bottom: 4 };
const DOWN_WEIGHTED = weightReasons.indexOf('down-weighted');
const FATE = 9; // px: the strip of sweeps left out, along the foot
/** Bounds of the normalised weight, log scale; what lies beyond ends on the edge. */
const RIBBON_BOUNDS = [1 / 32, 4] as const;

export interface RibbonAxes {
  /** Number of the sweep, over the whole session. */
  sweep: Scale;
  /** Weight over the mean weight. */
  weight: Scale;
}

/** Axes of a weight ribbon. @param foot - room left below for a time axis, px */
export function ribbonAxes(bench: Bench, width: number, height: number, foot: number): RibbonAxes {
  const left = MARGIN.left;
  const right = width - MARGIN.right;
  const sweep = (value: number) => left + ((right - left) * value) / bench.record.sweepCount;
  return {
    sweep: Object.assign(sweep, { from: 0, to: bench.record.sweepCount }),
    weight: logScale(RIBBON_BOUNDS[0], RIBBON_BOUNDS[1], height - MARGIN.bottom - foot - FATE - 2, MARGIN.top),
  };
}

/** The sweep under a horizontal position, px. */
export function sweepAt(bench: Bench, x: number, width: number): number {
  const right = width - MARGIN.right;
  return Math.floor(((x - MARGIN.left) / (right - MARGIN.left)) * bench.record.sweepCount);
}

/**
 * Draws the weight ribbon: one column per sweep, or per pixel when there are more sweeps than pixels.
 *
 * A column is dark up to the smallest weight within and pale up to the largest; stippled if most of it was marked down.
 * The strip at the foot shows what was left out: open for rejected, hatched for flagged, as high as its share.
 */
export function drawRibbon(
  bench: Bench,
  lane: number,
  foot: number,
  ink: Ink,
  width: number,
  height: number,
  palette: Palette,
): void {
  const { record, shownSweep } = bench;
  if (lane >= record.lanes.length) return; // taken out, and its element is about to go
  const { share: shares, reason: reasons, shareSum, decidedCount } = record.lanes[lane];
  const { sweep: x, weight: y } = ribbonAxes(bench, width, height, foot);
  const left = x(0);
  const right = x(record.sweepCount);
  const columnCount = Math.min(record.sweepCount, Math.max(1, Math.floor(right - left)));
  const base = y(RIBBON_BOUNDS[0]);
  const stripTop = base + 2;
  const stripBottom = stripTop + FATE;
  const colour = palette.lanes[lane];
  const factor = shareSum > 0 ? decidedCount / shareSum : NaN;
  const clamped = (weight: number) => y(Math.min(RIBBON_BOUNDS[1], Math.max(RIBBON_BOUNDS[0], weight)));
  ink.fill(left, stripBottom, right, stripBottom + 1, palette.rule);
  for (let column = 0; column < columnCount; column++) {
    const from = Math.floor((column * record.sweepCount) / columnCount);
    const to = Math.min(record.offeredCount, Math.floor(((column + 1) * record.sweepCount) / columnCount));
    let low = Infinity;
    let high = 0;
    let kept = 0;
    let markedDown = 0;
    let rejected = 0;
    let flagged = 0;
    for (let k = from; k < to; k++) {
      switch (weightReasons[reasons[k]]) {
        case 'taken':
        case 'down-weighted':
          kept++;
          if (reasons[k] === DOWN_WEIGHTED) markedDown++;
          low = Math.min(low, shares[k] * factor);
          high = Math.max(high, shares[k] * factor);
          break;
        case 'rejected':
          rejected++;
          break;
        case 'flagged':
          flagged++;
      }
    }
    const x0 = left + ((right - left) * column) / columnCount;
    const x1 = left + ((right - left) * (column + 1)) / columnCount;
    const inner = x1 - x0 > 3 ? x1 - 1 : x1;
    if (kept > 0) {
      const pattern = 2 * markedDown > kept ? 'stippled' : 'solid';
      ink.fill(x0, base, inner, clamped(low), colour, pattern);
      ink.fill(x0, clamped(low), inner, clamped(high), faded(colour, 0.4), pattern);
    }
    const total = to - from;
    if (rejected > 0) drawRejected(ink, x0, inner, stripTop, stripTop + (FATE * rejected) / total, colour);
    if (flagged > 0) ink.fill(x0, stripBottom - (FATE * flagged) / total, inner, stripBottom, palette.flag, 'hatched');
  }
  ink.segment(left, y(1), right, y(1), 1, palette.faint, 'dots');
  for (const { atS } of record.scenario.events) {
    const first = record.sweepAfter(atS);
    if (first >= 0) drawEventTick(ink, x(first), base, palette.truth);
  }
  if (shownSweep >= 0) {
    const at = x(shownSweep + 0.5);
    ink.segment(at, 0, at, stripBottom + 3, 1, palette.ink);
  }
}

/** An open box: its outline where there is room for one, two thin edges otherwise. */
function drawRejected(ink: Ink, x0: number, x1: number, top: number, bottom: number, colour: number): void {
  ink.fill(x0, top, x1, bottom, faded(colour, 0.22));
  ink.fill(x0, top, x1, top + 1, colour);
  ink.fill(x0, bottom - 1, x1, bottom, colour);
  if (x1 - x0 < 4) return;
  ink.fill(x0, top, x0 + 1, bottom, colour);
  ink.fill(x1 - 1, top, x1, bottom, colour);
}
