import { changesResponse, GAIN_BOUNDS } from '../../core/quality/amplitudeGain.ts';
import type { RaceResult } from '../../core/session/race.ts';
import type { Bench } from '../model/bench.ts';
import { sessionEndS } from '../model/sessionClock.ts';
import { keptLane } from './averagePicture.ts';
import { drawEventTick } from './beltPicture.ts';
import type { Ink } from './ink.ts';
import { drawMarker, laneMarks } from './laneMarks.ts';
import { faded, type Palette } from './palette.ts';
import { logScale, type Scale } from './scale.ts';

const MARGIN = { left: 46, right: 20, top: 12, bottom: 30 };

export interface RaceAxes {
  seconds: Scale;
  noiseNv: Scale;
}

/** Log-log axes: from the first checkpoint to the end of the session; from below the target to the loudest start. */
export function raceAxes(bench: Bench, width: number, height: number): RaceAxes {
  const { record, scenario } = bench;
  const { targetNv, durationS } = scenario.session;
  const firstS = record.checkpoints[0]?.seconds ?? Math.min(durationS / 10, 8 / scenario.stimulus.ratePerS);
  let low = targetNv / 2;
  let high = targetNv * 16;
  for (const { lanes } of record.checkpoints) {
    for (const { residualNoiseUv, ownNoiseUv } of lanes) {
      for (const uv of bench.truthSealed ? [ownNoiseUv] : [residualNoiseUv, ownNoiseUv]) {
        if (uv > 0 && 1000 * uv > high) high = 1000 * uv;
        if (uv > 0 && 1000 * uv < low) low = 1000 * uv;
      }
    }
  }
  low = Math.max(low, targetNv / 100);
  return {
    seconds: logScale(firstS, Math.max(2 * firstS, sessionEndS(scenario)), MARGIN.left, width - MARGIN.right),
    noiseNv: logScale(low / 1.15, high * 1.15, height - MARGIN.bottom, MARGIN.top),
  };
}

/**
 * True if the lane has changed the size of the response, so that its low noise does not count.
 *
 * Replicates decide where there are some; before that the gain of the one run does, though noise alone may move it.
 * Nobody can tell while the truth is sealed.
 */
export function isDisqualified(bench: Bench, lane: number, expected: RaceResult | null): boolean {
  if (bench.truthSealed) return false;
  if (expected) return changesResponse(expected.lanes[lane].amplitudeGain);
  const { amplitudeGain } = bench.record.lanes[lane].reading;
  return amplitudeGain < GAIN_BOUNDS[0] || amplitudeGain > GAIN_BOUNDS[1];
}

/** Noise by which the race is run: the true one, or the strategies' claims while the truth is sealed. */
export function judgedBy(bench: Bench): 'residualNoiseUv' | 'ownNoiseUv' {
  return bench.truthSealed ? 'ownNoiseUv' : 'residualNoiseUv';
}

const xs = new Float64Array(512);
const ys = new Float64Array(512);

/** Draws the race: noise against seconds, target, −½ guide, one line per lane, claims as thin twins, flags. */
export function drawRace(
  bench: Bench,
  expected: RaceResult | null,
  ink: Ink,
  width: number,
  height: number,
  palette: Palette,
): void {
  const { record, scenario } = bench;
  const { seconds: x, noiseNv: y } = raceAxes(bench, width, height);
  const { targetNv } = scenario.session;
  const left = x(x.from);
  const right = x(x.to);
  const bottom = y(y.from);
  const clamped = (value: number) => (value > 0 ? Math.min(bottom, Math.max(MARGIN.top, y(value))) : NaN);

  drawSlopeGuide(ink, x, y, targetNv, palette);
  ink.fill(left, y(targetNv), right, bottom, faded(palette.target, 0.09));
  ink.segment(left, y(targetNv), right, y(targetNv), 1.6, palette.target);

  for (const { atS } of record.scenario.events) {
    if (atS > x.from && atS < Math.min(x.to, record.seconds)) drawEventTick(ink, x(atS), bottom, palette.truth);
  }
  if (expected && !bench.truthSealed) drawExpected(expected, targetNv, ink, x, y, palette);
  const judged = judgedBy(bench);
  for (const lane of record.lanes.keys()) {
    const colour = palette.lanes[lane];
    const { pattern } = laneMarks[lane];
    drawKept(bench, lane, judged, ink, x, clamped, faded(palette.ink, 0.55));
    const count = Math.min(record.checkpoints.length, xs.length);
    for (let j = 0; j < count; j++) xs[j] = x(record.checkpoints[j].seconds);
    if (!bench.truthSealed) {
      for (let j = 0; j < count; j++) ys[j] = clamped(1000 * record.checkpoints[j].lanes[lane].ownNoiseUv);
      ink.stroke(xs, ys, count, 1, faded(colour, 0.5), pattern);
    }
    for (let j = 0; j < count; j++) ys[j] = clamped(1000 * record.checkpoints[j].lanes[lane][judged]);
    ink.stroke(xs, ys, count, 2.2, colour, pattern);
    const hollow = isDisqualified(bench, lane, expected);
    if (count > 0 && !Number.isNaN(ys[count - 1])) drawMarker(ink, lane, xs[count - 1], ys[count - 1], colour, hollow);
    const arrivalS = record.arrivalS(lane, judged);
    if (arrivalS !== null) drawFlag(ink, lane, x(arrivalS), y(targetNv), colour, hollow);
  }
}

/** Draws the same lane of the kept run, thin and pale. */
function drawKept(
  bench: Bench,
  lane: number,
  judged: 'residualNoiseUv' | 'ownNoiseUv',
  ink: Ink,
  x: Scale,
  y: (valueNv: number) => number,
  colour: number,
): void {
  const { kept } = bench;
  if (!kept || !keptLane(bench, lane)) return;
  const shown = kept.record.checkpoints.filter(({ seconds }) => seconds >= x.from && seconds <= x.to);
  const count = Math.min(shown.length, xs.length);
  for (let j = 0; j < count; j++) {
    xs[j] = x(shown[j].seconds);
    ys[j] = y(1000 * shown[j].lanes[lane][judged]);
  }
  ink.stroke(xs, ys, count, 1, colour, laneMarks[lane].pattern);
}

/** Draws what replicates lead one to expect: a pale ribbon per lane, and the interval of its arrival under the target. */
function drawExpected(result: RaceResult, targetNv: number, ink: Ink, x: Scale, y: Scale, palette: Palette): void {
  for (const [lane, { curve, secondsToTarget }] of result.lanes.entries()) {
    const count = Math.min(curve.length, xs.length);
    const upper = new Float64Array(count);
    for (let j = 0; j < count; j++) {
      xs[j] = x(curve[j].seconds);
      const onPaper = curve[j].noiseNv >= y.from && curve[j].noiseNv <= y.to;
      ys[j] = onPaper ? y(curve[j].noiseNv) + 2.5 : NaN;
      upper[j] = ys[j] - 5;
    }
    ink.band(xs, ys, upper, count, faded(palette.lanes[lane], 0.28));
    if (!secondsToTarget) continue;
    const at = y(targetNv) + 7 + 5 * lane;
    const end = Math.min(secondsToTarget.high, x.to);
    ink.segment(x(secondsToTarget.low), at, x(end), at, 2, palette.lanes[lane]);
    ink.segment(x(secondsToTarget.value), at - 3, x(secondsToTarget.value), at + 3, 2, palette.lanes[lane]);
  }
}

/** Height of a lane's flag pole, px: staggered, so that close finishes stay apart. */
export function poleHeight(lane: number): number {
  return 18 + 15 * lane;
}

function drawFlag(ink: Ink, lane: number, x: number, foot: number, colour: number, hollow: boolean): void {
  const top = foot - poleHeight(lane);
  ink.segment(x, foot, x, top, 1.4, colour);
  if (hollow) {
    for (const [x0, y0, x1, y1] of [
      [x, top, x + 9, top + 4],
      [x + 9, top + 4, x, top + 8],
    ]) {
      ink.segment(x0, y0, x1, y1, 1.2, colour);
    }
  } else {
    ink.shape(
      [
        [x, top],
        [x + 9, top + 4],
        [x, top + 8],
      ],
      colour,
    );
  }
}

/** A line of slope −½ that reaches the target at the end of the session. */
function drawSlopeGuide(ink: Ink, x: Scale, y: Scale, targetNv: number, palette: Palette): void {
  const startNv = Math.min(y.to, targetNv * Math.sqrt(x.to / x.from));
  const startS = x.to * (targetNv / startNv) ** 2;
  ink.segment(x(startS), y(startNv), x(x.to), y(targetNv), 1, palette.faint, 'dots');
}
