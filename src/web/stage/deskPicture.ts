import type { Bench } from '../model/bench.ts';
import { cochlearAreas, type DeskTrace } from '../model/deskReading.ts';
import { overlayOf } from '../model/viewTables.ts';
import type { Ink } from './ink.ts';
import { faded, type Palette } from './palette.ts';
import { roundRange } from './sweepPicture.ts';
import {
  drawArea,
  drawBand,
  drawBuffers,
  drawCurve,
  drawGround,
  largestUv,
  type PanelCurve,
  type TracePanel,
  tracePanel,
} from './tracePanel.ts';

const LEFT = 48;
const FOOT = 18;
const GAP = 12;

/** True if the truth of the trace on the desk may be seen. */
function truthShown({ truthSealed }: Bench): boolean {
  return !truthSealed;
}

/** The panel of the trace and, where a difference is asked for, one below on the same scale. */
export function deskPanels(bench: Bench, width: number, height: number): { main: TracePanel; gap: TracePanel | null } {
  const { desk, scenario } = bench;
  const { averageUv, truthUv, ownNoiseUv } = desk.trace;
  const over = overlayOf(bench);
  const peak = Math.max(
    largestUv(averageUv),
    truthShown(bench) ? largestUv(truthUv) : 0,
    Number.isFinite(ownNoiseUv) ? 2 * ownNoiseUv : 0,
    0.02,
  );
  const rangeUv = roundRange(1.08 * peak);
  const right = width - 6;
  const foot = height - FOOT;
  if (!over || !desk.subtracts) return { main: tracePanel(scenario.window, rangeUv, LEFT, right, 16, foot), gap: null };
  const middle = Math.round(foot * 0.6);
  return {
    main: tracePanel(scenario.window, rangeUv, LEFT, right, 16, middle),
    gap: tracePanel(scenario.window, rangeUv, LEFT, right, middle + GAP, foot),
  };
}

/** Draws the desk: average within its claim, split buffers, overlay and difference, areas, truth, marks and cursor. */
export function drawDesk(bench: Bench, ink: Ink, width: number, height: number, palette: Palette): void {
  const { desk, scenario, splitShown } = bench;
  const { main, gap } = deskPanels(bench, width, height);
  const { trace } = desk;
  const colour = palette.lanes[trace.lane];
  drawGround(ink, main, scenario.window, palette);
  drawAreas(bench, trace, main, ink, palette);
  drawBand(ink, main, trace.averageUv, trace.ownNoiseUv, faded(colour, 0.18));
  if (splitShown) drawBuffers(ink, main, trace, palette.ink);
  const over = overlayOf(bench);
  if (over) drawCurve(ink, main, { samplesUv: over.samplesUv, colour: palette.ink, width: 1.2, pattern: 'dashes' });
  drawCurve(ink, main, { samplesUv: trace.averageUv, colour, width: 2 });
  if (truthShown(bench)) drawCurve(ink, main, truthCurve(trace, palette));
  if (over && gap && over.samplesUv.length === trace.averageUv.length) {
    drawGround(ink, gap, scenario.window, palette);
    const differenceUv = trace.averageUv.map((value, i) => value - over.samplesUv[i]);
    const zero = new Float64Array(differenceUv.length);
    drawBand(ink, gap, zero, 2 * Math.hypot(trace.ownNoiseUv, over.claimUv), faded(palette.ink, 0.08));
    drawCurve(ink, gap, { samplesUv: differenceUv, colour: palette.ink, width: 1.5 });
  }
  drawMarks(bench, main, ink, palette);
}

function truthCurve({ truthUv }: DeskTrace, palette: Palette): PanelCurve {
  return { samplesUv: truthUv, colour: palette.truth, width: 1.5, pattern: 'dashes' };
}

function drawAreas({ scenario }: Bench, trace: DeskTrace, panel: TracePanel, ink: Ink, palette: Palette): void {
  for (const { name, fromMs, toMs, levelUv } of cochlearAreas(scenario, trace)?.areas ?? []) {
    if (name === 'AP from its own start') continue; // lies within the other
    const colour = faded(name === 'SP' ? palette.lanes[2] : palette.lanes[1], 0.22);
    drawArea(ink, panel, trace.averageUv, levelUv, fromMs, toMs, colour);
  }
}

function drawMarks({ desk, truthSealed }: Bench, { timeMs, voltageUv }: TracePanel, ink: Ink, palette: Palette): void {
  const top = voltageUv(voltageUv.to);
  const bottom = voltageUv(voltageUv.from);
  const { peaks, truthPeaks } = desk.reading;
  for (const { latencyMs, amplitudeUv, latencySdMs } of peaks) {
    const [x, y] = [timeMs(latencyMs), voltageUv(amplitudeUv)];
    ink.segment(x, top, x, y - 4, 1.2, palette.ink);
    if (latencySdMs > 0) {
      const half = timeMs(latencyMs + latencySdMs) - x;
      ink.segment(x - half, y, x + half, y, 3, palette.ink);
    }
  }
  if (desk.committed && !truthSealed) {
    for (const { name, latencyMs, amplitudeUv } of truthPeaks) {
      const mine = peaks.find((peak) => peak.name === name);
      const [x, y] = [timeMs(latencyMs), voltageUv(amplitudeUv)];
      ink.segment(x, y + 4, x, bottom, 1.2, palette.truth, 'dots');
      if (mine) ink.segment(timeMs(mine.latencyMs), voltageUv(mine.amplitudeUv), x, y, 2, palette.flag);
    }
  }
  if (desk.heldMs !== null) {
    const held = timeMs(desk.heldMs);
    ink.segment(held, top - 8, held, bottom, 1.4, palette.flag, 'dashes');
  }
  const x = timeMs(desk.cursorMs);
  ink.segment(x, top - 8, x, bottom, 1.4, palette.flag);
}
