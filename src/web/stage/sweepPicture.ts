import { thresholdRejection } from '../../core/averaging/thresholdRejection.ts';
import type { Scenario } from '../../core/scenario/schema.ts';
import type { Bench } from '../model/bench.ts';
import type { Ink } from './ink.ts';
import { faded, type Palette } from './palette.ts';
import { linearScale, type Scale } from './scale.ts';
import { drawTrace } from './sweepTrace.ts';

/** Room for the numbers along the edges, px. */
const MARGIN = { left: 34, right: 6, top: 6, bottom: 17 };

export interface SweepAxes {
  timeMs: Scale;
  voltageUv: Scale;
}

const STEADY = 60; // sweeps whose largest sets the range while the newest is followed: an axis that jumps cannot be read

/** ± µV, in steps of 1, 2, 5: holds the chosen sweep, or the last few while the newest is followed. */
export function sweepRangeUv({ record, shownSweep, selectedSweep }: Bench): number {
  let peakUv = 1;
  const from = selectedSweep === null ? Math.max(0, shownSweep - STEADY) : shownSweep;
  for (let k = from; k <= shownSweep; k++) peakUv = Math.max(peakUv, record.peakUv[k]);
  return roundRange(1.02 * peakUv);
}

/** Axes of the single sweep: the whole window, and the given voltage range. */
export function sweepAxes(scenario: Scenario, rangeUv: number, width: number, height: number): SweepAxes {
  return {
    timeMs: linearScale(-scenario.window.preMs, scenario.window.postMs, MARGIN.left, width - MARGIN.right),
    voltageUv: linearScale(-rangeUv, rangeUv, height - MARGIN.bottom, MARGIN.top),
  };
}

/** The next of 1, 2, 5, 10 … at or above a value. */
export function roundRange(value: number): number {
  const power = 10 ** Math.floor(Math.log10(value));
  return power * ([1, 2, 5, 10].find((factor) => factor * power >= value * (1 - 1e-9)) ?? 10);
}

const SMALL = 5; // a difference this many times smaller than its curves is drawn on a larger scale

/** The range for a difference below its curves: theirs, or a smaller one where it would be lost. */
export function differenceRange(rangeUv: number, sizeUv: number): number {
  return sizeUv > 0 && sizeUv < rangeUv / SMALL ? roundRange(1.05 * sizeUv) : rangeUv;
}

/** Draws the sweep looked at: both channels, the stimulus, and the limit of threshold rejection. */
export function drawSweep(
  bench: Bench,
  rangeUv: number,
  ink: Ink,
  width: number,
  height: number,
  palette: Palette,
): void {
  const { record, shownSweep, scenario } = bench;
  const { timeMs, voltageUv } = sweepAxes(scenario, rangeUv, width, height);
  const left = timeMs(timeMs.from);
  const right = timeMs(timeMs.to);
  const bottom = voltageUv(voltageUv.from);
  ink.segment(left, voltageUv(0), right, voltageUv(0), 1, palette.rule);
  ink.segment(timeMs(0), MARGIN.top, timeMs(0), bottom, 1, palette.faint, 'dots');
  for (const [lane, { strategy, parameters }] of record.lanes.entries()) {
    const limitUv = strategy === thresholdRejection.id ? parameters.thresholdUv : Infinity;
    if (!(limitUv < voltageUv.to)) continue;
    for (const side of [-1, 1]) {
      ink.segment(left, voltageUv(side * limitUv), right, voltageUv(side * limitUv), 1, palette.lanes[lane], 'dashes');
    }
  }
  if (shownSweep < 0) return;
  for (const channel of [1 - record.channel, record.channel]) {
    const samples = record.rawSweep(shownSweep, channel);
    if (!samples) continue;
    const main = channel === record.channel;
    drawTrace(ink, samples, left, right, voltageUv, main ? 1.3 : 1, faded(palette.ink, main ? 1 : 0.3));
  }
  if (record.isOverRange(shownSweep, record.channel)) {
    ink.fill(left, MARGIN.top, right, bottom, faded(palette.flag, 0.5), 'hatched');
  }
}
