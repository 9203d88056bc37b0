import type { Bench } from '../model/bench.ts';
import type { LaneRecord, RunRecord } from '../model/runRecord.ts';
import type { Ink } from './ink.ts';
import { faded, type Palette } from './palette.ts';
import { linearScale, type Scale } from './scale.ts';
import { roundRange } from './sweepPicture.ts';
import { drawTrace } from './sweepTrace.ts';

const MARGIN = { left: 40, right: 4, top: 4, bottom: 4 };
/** Room for the time axis under the last of the lanes, px. */
export const TIME_AXIS = 16;

const xs = new Float64Array(4096);
const lows = new Float64Array(4096);
const highs = new Float64Array(4096);

export interface AverageAxes {
  timeMs: Scale;
  voltageUv: Scale;
}

/** Axes shared by all lanes. @param withTimeAxis - leaves room for it below */
export function averageAxes(bench: Bench, width: number, height: number, withTimeAxis: boolean): AverageAxes {
  const { window } = bench.scenario;
  const rangeUv = averageRangeUv(bench.record, bench.truthSealed);
  const bottom = height - MARGIN.bottom - (withTimeAxis ? TIME_AXIS : 0);
  return {
    timeMs: linearScale(-window.preMs, window.postMs, MARGIN.left, width - MARGIN.right),
    voltageUv: linearScale(-rangeUv, rangeUv, bottom, MARGIN.top),
  };
}

/** ± µV, in steps of 1, 2, 5: holds the quieter half of the lanes and the truth; a wilder lane runs off the edge. */
function averageRangeUv(record: RunRecord, truthSealed: boolean): number {
  const peaks = record.lanes.map(({ averageUv }) => peakOf(averageUv)).filter((peak) => peak > 0);
  peaks.sort((a, b) => a - b);
  const middle = peaks.length > 0 ? peaks[Math.floor((peaks.length - 1) / 2)] : 1;
  const truth = truthSealed ? 0 : peakOf(record.truthUv);
  return roundRange(Math.max(0.05, 1.05 * middle, 1.1 * truth));
}

function peakOf(samples: Float32Array): number {
  let peak = 0;
  for (const value of samples) if (Math.abs(value) > peak) peak = Math.abs(value);
  return peak;
}

/** The same lane of the kept run: same place, same strategy; null if there is none, or it is this very run. */
export function keptLane({ kept, record }: Bench, lane: number): LaneRecord | null {
  const found = kept && kept.record !== record ? kept.record.lanes[lane] : undefined;
  return found && found.strategy === record.lanes[lane].strategy ? found : null;
}

/** Draws one lane: its average within ± its own noise claim, and the truth (dashed) unless that is sealed. */
export function drawAverage(
  bench: Bench,
  lane: number,
  withTimeAxis: boolean,
  ink: Ink,
  width: number,
  height: number,
  palette: Palette,
): void {
  const { record, scenario, truthSealed } = bench;
  if (lane >= record.lanes.length) return; // taken out, and its element is about to go
  const { averageUv, reading } = record.lanes[lane];
  const { timeMs, voltageUv } = averageAxes(bench, width, height, withTimeAxis);
  const left = timeMs(timeMs.from);
  const right = timeMs(timeMs.to);
  const top = voltageUv(voltageUv.to);
  const bottom = voltageUv(voltageUv.from);
  const { analysisFromMs, analysisToMs } = scenario.window;
  ink.fill(timeMs(analysisFromMs), top, timeMs(analysisToMs), bottom, faded(palette.ink, 0.04));
  ink.segment(left, voltageUv(0), right, voltageUv(0), 1, palette.rule);
  ink.segment(timeMs(0), top, timeMs(0), bottom, 1, palette.faint, 'dots');
  const count = Math.min(averageUv.length, xs.length);
  const clamped = (value: number) => Math.min(bottom, Math.max(top, voltageUv(value)));
  if (Number.isFinite(reading.ownNoiseUv)) {
    for (let i = 0; i < count; i++) {
      xs[i] = left + ((right - left) * (i + 0.5)) / count;
      lows[i] = clamped(averageUv[i] - reading.ownNoiseUv);
      highs[i] = clamped(averageUv[i] + reading.ownNoiseUv);
    }
    ink.band(xs, lows, highs, count, faded(palette.lanes[lane], 0.2));
  }
  const before = keptLane(bench, lane);
  if (before && before.averageUv.length === count) {
    for (let i = 0; i < count; i++) {
      xs[i] = left + ((right - left) * (i + 0.5)) / count;
      lows[i] = clamped(before.averageUv[i]);
    }
    ink.stroke(xs, lows, count, 1.1, faded(palette.ink, 0.6));
  }
  if (bench.splitShown) {
    const { bufferAUv, bufferBUv } = record.lanes[lane];
    for (const [buffer, pattern] of [
      [bufferAUv, 'solid'],
      [bufferBUv, 'dots'],
    ] as const) {
      for (let i = 0; i < count; i++) {
        xs[i] = left + ((right - left) * (i + 0.5)) / count;
        lows[i] = clamped(buffer[i]);
      }
      ink.stroke(xs, lows, count, 1.1, faded(palette.ink, 0.75), pattern);
    }
  }
  drawTrace(ink, averageUv, left, right, voltageUv, 1.6, palette.lanes[lane]);
  if (bench.ripple?.lane === lane) {
    const at = timeMs(bench.ripple.latencyMs);
    ink.segment(at, top, at, bottom, 1.2, palette.flag);
  }
  if (truthSealed) return;
  for (let i = 0; i < count; i++) {
    xs[i] = left + ((right - left) * (i + 0.5)) / count;
    lows[i] = clamped(record.truthUv[i]);
  }
  ink.stroke(xs, lows, count, 1.5, palette.truth, 'dashes');
}
