import { usualWaveV } from '../../core/reading/patternClass.ts';
import type { Bench } from '../model/bench.ts';
import { publishedLatencies } from '../model/publishedLatency.ts';
import { fitOf, type SeriesRun, waveLatencies } from '../model/series.ts';
import type { Ink } from './ink.ts';
import { faded, type Palette } from './palette.ts';
import { linearScale, type Scale } from './scale.ts';
import { roundRange } from './sweepPicture.ts';
import { drawCurve, largestUv, type TracePanel, tracePanel } from './tracePanel.ts';

const LEFT = 58;
const FOOT = 18;
const OVERLAP = 0.4; // of a row: a large wave may reach into the rows beside it, so that none is cut

/** Runs from loud to soft; at one level in the order in which they were made. */
export function stacked(runs: readonly SeriesRun[]): SeriesRun[] {
  return [...runs].sort((a, b) => b.levelDb - a.levelDb);
}

/** One panel for each run, all on one scale, the loudest on top. */
export function stackPanels(bench: Bench, width: number, height: number): TracePanel[] {
  const runs = stacked(bench.series);
  const rangeUv = roundRange(Math.max(0.05, ...runs.map(({ averageUv }) => 1.02 * largestUv(averageUv))));
  const rowHeight = (height - FOOT) / (Math.max(1, runs.length) + 2 * OVERLAP);
  return runs.map((_, k) => {
    const top = k * rowHeight;
    return tracePanel(bench.scenario.window, rangeUv, LEFT, width - 6, top, top + (1 + 2 * OVERLAP) * rowHeight);
  });
}

/** Draws the stack: each average with its split buffers, a tick where wave V was read. */
export function drawStack(bench: Bench, ink: Ink, width: number, height: number, palette: Palette): void {
  const panels = stackPanels(bench, width, height);
  for (const [k, run] of stacked(bench.series).entries()) {
    const panel = panels[k];
    const { timeMs, voltageUv } = panel;
    ink.segment(timeMs(timeMs.from), voltageUv(0), timeMs(timeMs.to), voltageUv(0), 1, palette.rule);
    drawCurve(ink, panel, { samplesUv: run.bufferAUv, colour: faded(palette.ink, 0.5), width: 1 });
    drawCurve(ink, panel, { samplesUv: run.bufferBUv, colour: faded(palette.ink, 0.5), width: 1, pattern: 'dots' });
    drawCurve(ink, panel, { samplesUv: run.averageUv, colour: palette.lanes[run.lane], width: 2 });
    for (const { name, latencyMs, amplitudeUv, clear } of run.peaks) {
      if (name !== 'V' || !clear) continue;
      const [x, y] = [timeMs(latencyMs), Math.max(voltageUv(voltageUv.to) + 9, voltageUv(amplitudeUv))];
      ink.shape(
        [
          [x - 4, y - 10],
          [x + 4, y - 10],
          [x, y - 3],
        ],
        palette.flag,
      );
    }
  }
  if (panels.length > 0) {
    const { timeMs } = panels[0];
    ink.segment(timeMs(0), 0, timeMs(0), height - FOOT, 1, palette.faint, 'dots');
  }
}

/** Level across, latency of wave V up. */
export function latencyAxes(bench: Bench, width: number, height: number): { levelDb: Scale; latencyMs: Scale } {
  const latencies = waveLatencies(bench.series).map(({ latencyMs }) => latencyMs);
  const usual = [
    usualWaveV(90, bench.scenario.stimulus.ratePerS).latencyMs - 0.6,
    usualWaveV(20, 27.7).latencyMs + 0.6,
  ];
  const published = publishedLatencies(bench.scenario);
  const low = Math.min(usual[0], ...latencies, ...published.map(({ lowMs }) => lowMs));
  const high = Math.max(usual[1], ...latencies, ...published.map(({ highMs }) => highMs));
  return {
    levelDb: linearScale(10, 100, 34, width - 8),
    latencyMs: linearScale(Math.floor(low * 2) / 2, Math.ceil(high * 2) / 2, height - 30, 8),
  };
}

const xs = new Float64Array(128);
const lows = new Float64Array(128);
const highs = new Float64Array(128);

/** Whether the picture has the band of the model's normal ears: those of adults, for clicks. */
export function hasUsualBand({ scenario: { stimulus, patient } }: Bench): boolean {
  return stimulus.kind === 'click' && !patient.infant.present;
}

/**
 * Draws wave V against level: readings with their deviation, the curve through them; behind them normal ears of the model
 * as a band, and as dashed boxes what is published.
 */
export function drawLatencies(bench: Bench, ink: Ink, width: number, height: number, palette: Palette): void {
  const { levelDb: x, latencyMs: y } = latencyAxes(bench, width, height);
  const { stimulus } = bench.scenario;
  const place = (ms: number) => Math.min(y(y.from), Math.max(y(y.to), y(ms)));
  if (hasUsualBand(bench)) {
    let count = 0;
    for (let level = 20; level <= 90; level += 2) {
      const { latencyMs, sdMs } = usualWaveV(level, stimulus.ratePerS);
      xs[count] = x(level);
      lows[count] = place(latencyMs + 2 * sdMs);
      highs[count] = place(latencyMs - 2 * sdMs);
      count++;
    }
    ink.band(xs, lows, highs, count, faded(palette.target, 0.18));
  }
  for (const { fromDbNhl, toDbNhl, lowMs, highMs, meanMs } of publishedLatencies(bench.scenario)) {
    const [left, right] = [x(fromDbNhl), x(toDbNhl)];
    const [bottom, top] = [place(lowMs), place(highMs)];
    for (const [x0, y0, x1, y1] of [
      [left, bottom, right, bottom],
      [left, top, right, top],
      [left, bottom, left, top],
      [right, bottom, right, top],
    ]) {
      ink.segment(x0, y0, x1, y1, 1.4, palette.truth, 'dashes');
    }
    if (Number.isFinite(meanMs)) ink.segment(left, place(meanMs), right, place(meanMs), 2.4, palette.truth);
  }
  const fit = fitOf(bench.series);
  const latencies = waveLatencies(bench.series);
  if (fit) {
    const levels = latencies.map(({ levelDbNhl }) => levelDbNhl);
    const [from, to] = [Math.min(...levels), Math.max(...levels)];
    let count = 0;
    for (let k = 0; k <= 40; k++) {
      const level = from + ((to - from) * k) / 40;
      xs[count] = x(level);
      lows[count] = place(fit.at(level));
      count++;
    }
    ink.stroke(xs, lows, count, 1.6, palette.ink, 'dashes');
  }
  for (const { levelDbNhl, latencyMs, latencySdMs } of latencies) {
    const at = x(levelDbNhl);
    ink.segment(at, place(latencyMs - 2 * latencySdMs), at, place(latencyMs + 2 * latencySdMs), 1.6, palette.ink);
    ink.fill(at - 3.5, place(latencyMs) - 3.5, at + 3.5, place(latencyMs) + 3.5, palette.ink);
  }
}
