import type { Ink, InkPattern } from './ink.ts';
import { faded, type InkColour, type Palette } from './palette.ts';
import { linearScale, type Scale } from './scale.ts';

/** Where one set of traces lies: time after the stimulus across, voltage up. */
export interface TracePanel {
  timeMs: Scale;
  voltageUv: Scale;
}

/** One curve of a panel: samples over the whole window. */
export interface PanelCurve {
  samplesUv: ArrayLike<number>;
  colour: InkColour;
  width: number;
  pattern?: InkPattern;
}

/** The part of a window that panels need. */
export interface PanelWindow {
  preMs: number;
  postMs: number;
  analysisFromMs: number;
  analysisToMs: number;
}

/** Lays a panel into a rectangle, px, with ± `rangeUv` from top to bottom. */
export function tracePanel(
  { preMs, postMs }: PanelWindow,
  rangeUv: number,
  left: number,
  right: number,
  top: number,
  bottom: number,
): TracePanel {
  return {
    timeMs: linearScale(-preMs, postMs, left, right),
    voltageUv: linearScale(-rangeUv, rangeUv, bottom, top),
  };
}

/** The largest size in some curves, µV; 0 if there is nothing yet. */
export function largestUv(...curves: (ArrayLike<number> | null | undefined)[]): number {
  let largest = 0;
  for (const curve of curves) {
    for (let i = 0; i < (curve?.length ?? 0); i++) {
      const size = Math.abs(curve?.[i] ?? 0);
      if (size > largest) largest = size;
    }
  }
  return largest;
}

/** Draws the ground of a panel: the stretch where noise is measured, the zero line, the stimulus. */
export function drawGround(ink: Ink, { timeMs, voltageUv }: TracePanel, window: PanelWindow, palette: Palette): void {
  const [top, bottom] = [voltageUv(voltageUv.to), voltageUv(voltageUv.from)];
  ink.fill(timeMs(window.analysisFromMs), top, timeMs(window.analysisToMs), bottom, faded(palette.ink, 0.04));
  ink.segment(timeMs(timeMs.from), voltageUv(0), timeMs(timeMs.to), voltageUv(0), 1, palette.rule);
  ink.segment(timeMs(0), top, timeMs(0), bottom, 1, palette.faint, 'dots');
}

const xs = new Float64Array(8192);
const ys = new Float64Array(8192);
const lows = new Float64Array(8192);

/** Where sample i of a curve lies across, px. */
function placeX({ timeMs }: TracePanel, i: number, count: number): number {
  const left = timeMs(timeMs.from);
  return left + ((timeMs(timeMs.to) - left) * (i + 0.5)) / count;
}

/** Draws a curve; what leaves the panel ends on its edge, NaN leaves a gap. */
export function drawCurve(ink: Ink, panel: TracePanel, { samplesUv, colour, width, pattern }: PanelCurve): void {
  const count = Math.min(samplesUv.length, xs.length);
  for (let i = 0; i < count; i++) {
    xs[i] = placeX(panel, i, count);
    ys[i] = clamped(panel, samplesUv[i]);
  }
  ink.stroke(xs, ys, count, width, colour, pattern ?? 'solid');
}

/** Draws the two split buffers of an average, told apart by line. */
export function drawBuffers(
  ink: Ink,
  panel: TracePanel,
  { bufferAUv, bufferBUv }: { bufferAUv: ArrayLike<number>; bufferBUv: ArrayLike<number> },
  colour: InkColour,
): void {
  drawCurve(ink, panel, { samplesUv: bufferAUv, colour: faded(colour, 0.75), width: 1 });
  drawCurve(ink, panel, { samplesUv: bufferBUv, colour: faded(colour, 0.75), width: 1.2, pattern: 'dots' });
}

/** Fills the stretch of ± `halfUv` around a curve. */
export function drawBand(
  ink: Ink,
  panel: TracePanel,
  samplesUv: ArrayLike<number>,
  halfUv: number,
  colour: InkColour,
): void {
  if (!Number.isFinite(halfUv)) return;
  const count = Math.min(samplesUv.length, xs.length);
  for (let i = 0; i < count; i++) {
    xs[i] = placeX(panel, i, count);
    lows[i] = clamped(panel, samplesUv[i] - halfUv);
    ys[i] = clamped(panel, samplesUv[i] + halfUv);
  }
  ink.band(xs, lows, ys, count, colour);
}

/** Fills between a curve and a level over part of the time, for areas. */
export function drawArea(
  ink: Ink,
  panel: TracePanel,
  samplesUv: ArrayLike<number>,
  levelUv: number,
  fromMs: number,
  toMs: number,
  colour: InkColour,
): void {
  const { timeMs } = panel;
  const count = Math.min(samplesUv.length, xs.length);
  let filled = 0;
  for (let i = 0; i < count; i++) {
    const ms = timeMs.from + ((timeMs.to - timeMs.from) * (i + 0.5)) / count;
    if (ms < fromMs || ms > toMs) continue;
    xs[filled] = placeX(panel, i, count);
    lows[filled] = clamped(panel, levelUv);
    ys[filled] = clamped(panel, samplesUv[i]);
    filled++;
  }
  ink.band(xs, lows, ys, filled, colour);
}

function clamped({ voltageUv }: TracePanel, valueUv: number): number {
  return Math.min(voltageUv(voltageUv.from), Math.max(voltageUv(voltageUv.to), voltageUv(valueUv)));
}
