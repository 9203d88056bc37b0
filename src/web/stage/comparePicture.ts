import type { Scenario } from '../../core/scenario/schema.ts';
import type { PairedLane } from '../model/comparison.ts';
import type { FullRun } from '../worker/fullRun.ts';
import type { Ink } from './ink.ts';
import { laneMarks } from './laneMarks.ts';
import { faded, type Palette } from './palette.ts';
import { differenceRange, roundRange } from './sweepPicture.ts';
import { drawBand, drawBuffers, drawCurve, drawGround, largestUv, type TracePanel, tracePanel } from './tracePanel.ts';

const LEFT = 44;
const GAP = 12;
const FOOT = 18;

/** Two runs of one patient, one lane. */
export interface ComparedPair {
  scenario: Scenario;
  before: FullRun;
  after: FullRun;
  lane: number;
  paired: PairedLane;
  showTruth: boolean;
  /** Whether the split buffers of both runs are drawn, too. */
  showSplit: boolean;
}

/**
 * Both runs above on common axes, their difference below: on the same scale, or on a larger one where it would be lost.
 *
 * @returns the panels, and how many times larger the lower scale is
 */
export function comparePanels(
  pair: ComparedPair,
  width: number,
  height: number,
): { runs: TracePanel; gap: TracePanel; magnified: number } {
  const { before, after, lane, paired, scenario, showTruth } = pair;
  const rangeUv = roundRange(
    Math.max(
      0.02,
      1.05 * largestUv(before.lanes[lane].averageUv, after.lanes[lane].averageUv, paired.differenceUv),
      showTruth ? 1.05 * largestUv(after.truthUv) : 0,
    ),
  );
  const gapRangeUv = differenceRange(rangeUv, largestUv(paired.differenceUv));
  const middle = Math.round((height - FOOT) * 0.58);
  const right = width - 6;
  return {
    magnified: rangeUv / gapRangeUv,
    runs: tracePanel(scenario.window, rangeUv, LEFT, right, 4, middle),
    gap: tracePanel(scenario.window, gapRangeUv, LEFT, right, middle + GAP, height - FOOT),
  };
}

/** Draws before (thin, pale), after (in the lane's colour), the truth if it may be shown, and after − before. */
export function drawComparison(pair: ComparedPair, ink: Ink, width: number, height: number, palette: Palette): void {
  const { before, after, lane, paired, scenario, showTruth, showSplit } = pair;
  const { runs, gap } = comparePanels(pair, width, height);
  const colour = palette.lanes[lane];
  drawGround(ink, runs, scenario.window, palette);
  drawGround(ink, gap, scenario.window, palette);
  const { averageUv, reading } = after.lanes[lane];
  drawBand(ink, runs, averageUv, reading.ownNoiseUv, faded(colour, 0.16));
  const earlier = before.lanes[lane].averageUv;
  if (showSplit) {
    drawBuffers(ink, runs, before.lanes[lane], palette.ink);
    drawBuffers(ink, runs, after.lanes[lane], colour);
  }
  drawCurve(ink, runs, { samplesUv: earlier, colour: palette.ink, width: 1.2, pattern: 'dashes' });
  drawCurve(ink, runs, { samplesUv: averageUv, colour, width: 2 });
  if (showTruth) drawCurve(ink, runs, { samplesUv: after.truthUv, colour: palette.truth, width: 1.4, pattern: 'dots' });
  if (paired.differenceUv) {
    const { pattern } = laneMarks[0];
    drawCurve(ink, gap, { samplesUv: paired.differenceUv, colour: palette.ink, width: 1.5, pattern });
  }
}
