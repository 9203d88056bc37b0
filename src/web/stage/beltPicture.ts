import type { Bench } from '../model/bench.ts';
import type { RunRecord } from '../model/runRecord.ts';
import { weightReasons } from '../worker/protocol.ts';
import type { Ink } from './ink.ts';
import { faded, type InkColour, type Palette } from './palette.ts';
import { linearScale } from './scale.ts';
import { roundRange } from './sweepPicture.ts';
import { drawTrace } from './sweepTrace.ts';

const MAX_CELLS = 40;
const MIN_CELL = 22; // px: narrower thumbnails are only noise
const STEADY = 400; // sweeps over which the scale of the thumbnails is judged
const ROW = 6; // px per lane in the footprint under a thumbnail

/** Where the cells of the belt lie. */
export interface BeltLayout {
  cellCount: number;
  cellWidth: number;
  /** Sweep of the leftmost cell; negative while the belt fills. */
  firstSweep: number;
}

/** The belt shows the newest sweeps, or those around the sweep looked at. */
export function beltLayout(record: RunRecord, selected: number | null, width: number): BeltLayout {
  const cellCount = Math.max(4, Math.min(MAX_CELLS, Math.floor(width / MIN_CELL)));
  const last = record.offeredCount - 1;
  const wanted = selected === null ? last : Math.min(last, selected + Math.floor(cellCount / 2));
  const end = Math.max(wanted, Math.min(last, cellCount - 1));
  return { cellCount, cellWidth: width / cellCount, firstSweep: end - cellCount + 1 };
}

/**
 * The common scale of the thumbnails, ± µV: three times the middle peak of the sweeps before, so that neither one burst
 * flattens the rest nor the scale jumps with every sweep. Flagged sweeps do not count: pinned ones are flat.
 */
export function beltScaleUv(record: RunRecord, { firstSweep, cellCount }: BeltLayout): number {
  const to = Math.min(record.offeredCount, Math.max(0, firstSweep) + cellCount);
  const from = Math.max(0, to - STEADY);
  const peaks = record.peakUv.slice(from, to).filter((_, k) => !record.isOverRange(from + k, record.channel));
  peaks.sort();
  return roundRange(peaks.length > 0 ? Math.max(1e-3, 3 * peaks[Math.floor(peaks.length / 2)]) : 1);
}

/** Room under the thumbnails for what the lanes did, px. */
function footprintHeight({ lanes }: RunRecord): number {
  return lanes.length * ROW + 4;
}

/** Draws the sweep belt: a raw thumbnail per sweep, hatched when over-range, and each lane's decision beneath. */
export function drawBelt(bench: Bench, ink: Ink, width: number, height: number, palette: Palette): void {
  const { record, shownSweep } = bench;
  const layout = beltLayout(record, bench.selectedSweep, width);
  const scaleUv = beltScaleUv(record, layout);
  const traceHeight = height - footprintHeight(record);
  const y = linearScale(-scaleUv, scaleUv, traceHeight - 1, 1);
  const ipsilateral = record.channel === 0;
  const eventSweeps = new Set(record.scenario.events.map(({ atS }) => record.sweepAfter(atS)));
  for (let cell = 0; cell < layout.cellCount; cell++) {
    const sweep = layout.firstSweep + cell;
    const left = cell * layout.cellWidth;
    const right = left + layout.cellWidth - 1;
    ink.fill(right, 0, right + 1, height, faded(palette.rule, 0.7));
    if (sweep < 0 || sweep >= record.offeredCount) continue;
    if (sweep === shownSweep) ink.fill(left, 0, right, height, faded(palette.ink, 0.1));
    for (const channel of ipsilateral ? [1, 0] : [0, 1]) {
      const samples = record.rawSweep(sweep, channel);
      const main = channel === record.channel;
      if (samples) drawTrace(ink, samples, left + 1, right - 1, y, 1, faded(palette.ink, main ? 1 : 0.28));
    }
    if (record.isOverRange(sweep, record.channel)) ink.fill(left, 0, right, traceHeight, palette.flag, 'hatched');
    for (let lane = 0; lane < record.lanes.length; lane++) {
      const top = traceHeight + 3 + lane * ROW;
      drawDecision(ink, record, lane, sweep, left + 1, right - 1, top, palette.lanes[lane], palette.flag);
    }
    if (eventSweeps.has(sweep)) drawEventTick(ink, left, traceHeight, palette.truth);
    if (sweep === shownSweep) {
      ink.fill(left, height - 2, right, height, palette.ink);
      ink.fill(left, 0, right, 2, palette.ink);
    }
  }
}

/** A wedge and a dotted line where something was done. */
export function drawEventTick(ink: Ink, x: number, height: number, colour: InkColour): void {
  ink.shape(
    [
      [x - 5, 0],
      [x + 5, 0],
      [x, 8],
    ],
    colour,
  );
  ink.segment(x, 6, x, height, 1.2, colour, 'dots');
}

function drawDecision(
  ink: Ink,
  record: RunRecord,
  lane: number,
  sweep: number,
  left: number,
  right: number,
  top: number,
  colour: InkColour,
  flag: InkColour,
): void {
  const bottom = top + ROW - 1.5;
  switch (weightReasons[record.lanes[lane].reason[sweep]]) {
    case 'taken':
      ink.fill(left, top, right, bottom, colour);
      return;
    case 'down-weighted':
      ink.fill(left, top + 2, right, bottom - 1, faded(colour, 0.55));
      return;
    case 'rejected':
      for (const edge of [top, bottom - 1]) ink.fill(left, edge, right, edge + 1, colour);
      for (const edge of [left, right - 1]) ink.fill(edge, top, edge + 1, bottom, colour);
      return;
    case 'flagged':
      ink.fill(left, top, right, bottom, flag, 'hatched');
      return;
    case 'waiting':
      ink.fill(left, bottom - 1, right, bottom, faded(colour, 0.35));
  }
}
