import type { Bench } from '../model/bench.ts';
import type { Duel } from '../model/duel.ts';
import type { Ink } from './ink.ts';
import { laneMarks } from './laneMarks.ts';
import { faded, type Palette } from './palette.ts';
import { linearScale, type Scale } from './scale.ts';
import { differenceRange, roundRange } from './sweepPicture.ts';
import { drawBand, drawBuffers, drawCurve, drawGround, largestUv, type TracePanel, tracePanel } from './tracePanel.ts';

const LEFT = 44;
const GAP = 12;
const FOOT = 18;

/**
 * Both averages above on common axes, second − first below: on the same scale, or on a larger one where it would be lost.
 *
 * @returns the panels, and how many times larger the lower scale is
 */
export function duelPanels(
  bench: Bench,
  { lanes: [first, second], differenceUv, noiseUv }: Duel,
  width: number,
  height: number,
): { both: TracePanel; gap: TracePanel; magnified: number } {
  const { record, scenario, truthSealed } = bench;
  const { lanes, truthUv } = record;
  const peak = largestUv(lanes[first].averageUv, lanes[second].averageUv, differenceUv, truthSealed ? null : truthUv);
  const rangeUv = roundRange(Math.max(0.02, 1.05 * peak));
  const gapRangeUv = differenceRange(rangeUv, Math.max(largestUv(differenceUv), 2 * noiseUv || 0));
  const middle = Math.round((height - FOOT) * 0.58);
  const right = width - 6;
  return {
    both: tracePanel(scenario.window, rangeUv, LEFT, right, 4, middle),
    magnified: rangeUv / gapRangeUv,
    gap: tracePanel(scenario.window, gapRangeUv, LEFT, right, middle + GAP, height - FOOT),
  };
}

/** Draws the two averages with their own lines, the truth if it may be seen, and the difference within ±2 of its noise. */
export function drawDuel(bench: Bench, duel: Duel, ink: Ink, width: number, height: number, palette: Palette): void {
  const { record, scenario, truthSealed, splitShown } = bench;
  const { both, gap } = duelPanels(bench, duel, width, height);
  drawGround(ink, both, scenario.window, palette);
  drawGround(ink, gap, scenario.window, palette);
  for (const lane of duel.lanes) {
    const { pattern } = laneMarks[lane];
    if (splitShown) drawBuffers(ink, both, record.lanes[lane], palette.lanes[lane]);
    drawCurve(ink, both, { samplesUv: record.lanes[lane].averageUv, colour: palette.lanes[lane], width: 1.8, pattern });
  }
  if (!truthSealed) {
    drawCurve(ink, both, { samplesUv: record.truthUv, colour: palette.truth, width: 1.4, pattern: 'dashes' });
  }
  drawBand(ink, gap, new Float64Array(duel.differenceUv.length), 2 * duel.noiseUv, faded(palette.ink, 0.12));
  drawCurve(ink, gap, { samplesUv: duel.differenceUv, colour: palette.ink, width: 1.6 });
}

/** Weight in the first lane across, in the second up; both roots, so that small weights keep apart. */
export function weightAxes({ record }: Bench, { lanes }: Duel, width: number, height: number): { x: Scale; y: Scale } {
  let most = 1.5;
  for (let k = 0; k < record.offeredCount; k++) {
    for (const lane of lanes) most = Math.max(most, record.normalisedWeight(lane, k) || 0);
  }
  return {
    x: linearScale(0, Math.sqrt(most), LEFT - 8, width - 12),
    y: linearScale(0, Math.sqrt(most), height - 30, 8),
  };
}

/** Where a sweep lies in the scatter of weights; null while a lane has not decided. */
export function weightPlace({ record }: Bench, { lanes }: Duel, axes: { x: Scale; y: Scale }, index: number) {
  const [first, second] = lanes.map((lane) => record.normalisedWeight(lane, index));
  if (!Number.isFinite(first) || !Number.isFinite(second)) return null;
  return { x: axes.x(Math.sqrt(Math.max(0, first))), y: axes.y(Math.sqrt(Math.max(0, second))) };
}

/** Draws one dot a sweep, the line of agreement, and the sweep looked at. */
export function drawWeights(bench: Bench, duel: Duel, ink: Ink, width: number, height: number, palette: Palette): void {
  const axes = weightAxes(bench, duel, width, height);
  const { x, y } = axes;
  ink.segment(x(0), y(0), x(x.to), y(y.to), 1, palette.faint, 'dots');
  ink.segment(x(0), y(0), x(x.to), y(0), 1, palette.rule);
  ink.segment(x(0), y(0), x(0), y(y.to), 1, palette.rule);
  ink.segment(x(1), y(0), x(1), y(y.to), 1, palette.rule, 'dots');
  ink.segment(x(0), y(1), x(x.to), y(1), 1, palette.rule, 'dots');
  const colour = faded(palette.ink, 0.45);
  for (let k = 0; k < bench.record.offeredCount; k++) {
    const at = weightPlace(bench, duel, axes, k);
    if (at) ink.fill(at.x - 1.2, at.y - 1.2, at.x + 1.2, at.y + 1.2, colour);
  }
  const shown = bench.shownSweep < 0 ? null : weightPlace(bench, duel, axes, bench.shownSweep);
  if (!shown) return;
  ink.segment(shown.x - 7, shown.y, shown.x + 7, shown.y, 2, palette.flag);
  ink.segment(shown.x, shown.y - 7, shown.x, shown.y + 7, 2, palette.flag);
}
