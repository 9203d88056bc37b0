import type { RaceResult } from '../../core/session/race.ts';
import type { Bench } from '../model/bench.ts';
import type { Ink } from './ink.ts';
import { drawMarker, laneMarks } from './laneMarks.ts';
import { faded, type Palette } from './palette.ts';
import { logScale, type Scale } from './scale.ts';

const MARGIN = { left: 40, right: 18, top: 8, bottom: 30 };
/** Claims within this of the truth count as honest on the picture. Our choice: one run's noise scatters by a fifth. */
export const HONEST = [0.8, 1.25] as const;

/** Claim over true noise against seconds. */
export function claimAxes(
  { record, scenario }: Bench,
  width: number,
  height: number,
): { seconds: Scale; ratio: Scale } {
  const firstS = record.checkpoints[0]?.seconds ?? 1;
  const lastS = Math.max(2 * firstS, record.checkpoints.at(-1)?.seconds ?? scenario.session.durationS);
  return {
    seconds: logScale(firstS, lastS, MARGIN.left, width - MARGIN.right),
    ratio: logScale(1 / 5, 5, height - MARGIN.bottom, MARGIN.top),
  };
}

const xs = new Float64Array(512);
const ys = new Float64Array(512);

/** Draws what each lane claimed over what was true: along the middle honest, below rosy, above cautious. */
export function drawClaims(bench: Bench, ink: Ink, width: number, height: number, palette: Palette): void {
  const { seconds: x, ratio: y } = claimAxes(bench, width, height);
  const { checkpoints, lanes } = bench.record;
  ink.fill(x(x.from), y(HONEST[1]), x(x.to), y(HONEST[0]), faded(palette.target, 0.12));
  ink.segment(x(x.from), y(1), x(x.to), y(1), 1.2, palette.target);
  const count = Math.min(checkpoints.length, xs.length);
  for (const lane of lanes.keys()) {
    for (let j = 0; j < count; j++) {
      const { ownNoiseUv, residualNoiseUv } = checkpoints[j].lanes[lane];
      const ratio = ownNoiseUv / residualNoiseUv;
      xs[j] = x(checkpoints[j].seconds);
      ys[j] = ratio > 0 ? Math.min(y(y.from), Math.max(y(y.to), y(ratio))) : NaN;
    }
    const colour = palette.lanes[lane];
    ink.stroke(xs, ys, count, 1.8, colour, laneMarks[lane].pattern);
    if (count > 0 && ys[count - 1] >= 0) drawMarker(ink, lane, xs[count - 1], ys[count - 1], colour, false);
  }
}

/** Noise at the end across, gain up: where every replicate of every lane has come to. */
export function cloudAxes(result: RaceResult, width: number, height: number): { noiseNv: Scale; gain: Scale } {
  let [low, high] = [Infinity, 0];
  for (const { runs } of result.lanes) {
    for (const { noiseNv } of runs) {
      low = Math.min(low, noiseNv);
      high = Math.max(high, noiseNv);
    }
  }
  return {
    noiseNv: logScale(low / 1.15, high * 1.15, MARGIN.left, width - MARGIN.right),
    gain: logScale(1 / 2, 2, height - MARGIN.bottom, MARGIN.top),
  };
}

/** Draws one faint mark for each replicate of each lane, and a cross at the lane's median. */
export function drawCloud(
  result: RaceResult,
  targetNv: number,
  ink: Ink,
  width: number,
  height: number,
  palette: Palette,
): void {
  const { noiseNv: x, gain: y } = cloudAxes(result, width, height);
  const place = (gain: number) => Math.min(y(y.from), Math.max(y(y.to), y(gain)));
  ink.fill(x(x.from), y(1.05), x(x.to), y(0.95), faded(palette.target, 0.12));
  ink.segment(x(x.from), y(1), x(x.to), y(1), 1, palette.rule);
  if (targetNv > x.from && targetNv < x.to) {
    ink.segment(x(targetNv), y(y.to), x(targetNv), y(y.from), 1.4, palette.target);
  }
  for (const [lane, { runs }] of result.lanes.entries()) {
    const colour = palette.lanes[lane];
    for (const { noiseNv, gain } of runs) drawMarker(ink, lane, x(noiseNv), place(gain), faded(colour, 0.4), true);
    const [cx, cy] = [x(median(runs.map(({ noiseNv }) => noiseNv))), place(median(runs.map(({ gain }) => gain)))];
    ink.segment(cx - 9, cy, cx + 9, cy, 2.4, colour);
    ink.segment(cx, cy - 9, cx, cy + 9, 2.4, colour);
  }
}

function median(values: number[]): number {
  const rising = [...values].sort((a, b) => a - b);
  return (rising[(rising.length - 1) >> 1] + rising[rising.length >> 1]) / 2;
}
