import type { Ink } from './ink.ts';
import { faded, type Palette } from './palette.ts';
import { linearScale, type Scale } from './scale.ts';
import { roundRange } from './sweepPicture.ts';
import { drawTrace } from './sweepTrace.ts';

const MARGIN = { left: 34, right: 6, bottom: 18 };

/** Averages of a recording, with the truth where a response was implanted. */
export interface AveragedLanes {
  lanes: readonly {
    averageUv: Float64Array;
    bufferAUv: Float64Array;
    bufferBUv: Float64Array;
    ownNoiseUv: number;
  }[];
  firstSampleMs: number;
  sampleRateHz: number;
  truthUv: Float64Array | null;
}

export interface RecordingAxes {
  timeMs: Scale;
  /** One voltage axis per lane, all of the same range. */
  lanesUv: Scale[];
}

/** The lanes one below the other on shared axes; the range holds the quieter half of the lanes. */
export function recordingAxes(result: AveragedLanes, width: number, height: number): RecordingAxes {
  const { lanes, firstSampleMs, sampleRateHz, truthUv } = result;
  const peakOf = (samplesUv: Float64Array) => samplesUv.reduce((peak, uv) => Math.max(peak, Math.abs(uv) || 0), 0);
  const peaks = lanes.map(({ averageUv }) => peakOf(averageUv));
  const middle = [...peaks].sort((a, b) => a - b)[Math.floor((peaks.length - 1) / 2)];
  const rangeUv = roundRange(Math.max(0.01, middle, truthUv ? peakOf(truthUv) : 0));
  const lastMs = firstSampleMs + (1000 * lanes[0].averageUv.length) / sampleRateHz;
  const row = (height - MARGIN.bottom) / lanes.length;
  return {
    timeMs: linearScale(firstSampleMs, lastMs, MARGIN.left, width - MARGIN.right),
    lanesUv: lanes.map((_, lane) => linearScale(-rangeUv, rangeUv, (lane + 1) * row - 3, lane * row + 3)),
  };
}

/**
 * Draws the averages of a recording, each within ± its own noise claim, and the truth (dashed) where it is known.
 *
 * @param showSplit - whether the two split buffers lie over each
 */
export function drawRecording(
  result: AveragedLanes,
  showSplit: boolean,
  ink: Ink,
  width: number,
  height: number,
  palette: Palette,
): void {
  const { timeMs, lanesUv } = recordingAxes(result, width, height);
  const left = timeMs(timeMs.from);
  const right = timeMs(timeMs.to);
  for (const [lane, { averageUv, bufferAUv, bufferBUv, ownNoiseUv }] of result.lanes.entries()) {
    const y = lanesUv[lane];
    const colour = palette.lanes[lane];
    ink.segment(left, y(0), right, y(0), 1, palette.rule);
    if (timeMs.from < 0) ink.segment(timeMs(0), y(y.to), timeMs(0), y(y.from), 1, palette.faint, 'dots');
    const clamped = (uv: number) => Math.min(y(y.from), Math.max(y(y.to), y(uv)));
    const xs = Float64Array.from(averageUv, (_, i) => left + ((right - left) * (i + 0.5)) / averageUv.length);
    const lows = averageUv.map((uv) => clamped(uv - ownNoiseUv));
    const highs = averageUv.map((uv) => clamped(uv + ownNoiseUv));
    ink.band(xs, lows, highs, xs.length, faded(colour, 0.2));
    if (showSplit) {
      ink.stroke(xs, bufferAUv.map(clamped), xs.length, 1, faded(palette.ink, 0.75));
      ink.stroke(xs, bufferBUv.map(clamped), xs.length, 1.2, faded(palette.ink, 0.75), 'dots');
    }
    drawTrace(ink, averageUv, left, right, y, 1.6, colour);
    if (result.truthUv) ink.stroke(xs, result.truthUv.map(clamped), xs.length, 1.5, palette.truth, 'dashes');
  }
}
