import type { Baseline } from '../averaging/baseline.ts';
import type { AveragingContext, AveragingStrategy } from '../averaging/strategy.ts';
import type { LaneSetting } from './lanes.ts';

/** One channel of a real recording with the instants of its stimuli. */
export interface RecordedSignal {
  samplesUv: Float64Array;
  sampleRateHz: number;
  eventTimesS: readonly number[];
  /** One per event: +1 condensation, −1 rarefaction; left out where all are alike. */
  polarities?: readonly (1 | -1)[];
  /** Stretches that were not recorded: no sweep may touch them. */
  missing?: readonly { startS: number; endS: number }[];
}

/** How to cut and average a real recording. */
export interface RecordingOrder {
  /** Start and end of a sweep relative to its event, ms. */
  windowMs: readonly [number, number];
  /** Corners of the zero-phase band-pass, Hz (second order each way). */
  bandHz: readonly [number, number];
  /** Part of the window over which noise and correlation are measured, ms; by default all of it after the event. */
  analysisMs?: readonly [number, number];
  /** By default the mean before the event, or a straight line if the window starts at or after it. */
  baseline?: Baseline;
  lanes: readonly LaneSetting[];
  /** Replaces the rejection limit by 2.5 times the median peak of the sweeps: a start for an unknown amplifier. */
  automaticThreshold?: boolean;
  /** Strategies that are not the lab's own, for lanes that name them. */
  outside?: readonly AveragingStrategy[];
  /** For random windows and random halves. */
  seed: string;
}

const HUGE_UV = 1e9; // a thousand volts: no amplifier of a living body gives more

/**
 * Turns an order into samples.
 *
 * @throws {RangeError} if band, window or rates do not fit: rule and value
 */
export function checkOrder(signals: readonly RecordedSignal[], order: RecordingOrder) {
  if (signals.length === 0) throw new RangeError('runRecording: at least one recording is needed, got none');
  const { sampleRateHz } = signals[0];
  for (const signal of signals) {
    if (signal.sampleRateHz !== sampleRateHz) {
      throw new RangeError(
        `runRecording: all must have ${sampleRateHz} Hz like the first, got ${signal.sampleRateHz} Hz`,
      );
    }
  }
  for (const [recording, { samplesUv }] of signals.entries()) {
    const at = samplesUv.findIndex((value) => !(value > -HUGE_UV && value < HUGE_UV));
    if (at >= 0) {
      const rule = `samples must lie within ±${HUGE_UV} µV`;
      throw new RangeError(
        `runRecording: ${rule}, got ${samplesUv[at]} at sample ${at + 1} of recording ${recording + 1}`,
      );
    }
  }
  const [lowHz, highHz] = order.bandHz;
  if (!(lowHz > 0 && highHz > lowHz && highHz < sampleRateHz / 2)) {
    const rule = `must rise from above 0 to below half the sample rate (${sampleRateHz / 2} Hz)`;
    throw new RangeError(`runRecording: band ${rule}, got ${lowHz},${highHz}`);
  }
  const shortestS = Math.min(...signals.map(({ samplesUv }) => samplesUv.length / sampleRateHz));
  if (!(lowHz >= 1 / shortestS && lowHz >= sampleRateHz * 1e-5)) {
    const least = Math.max(1 / shortestS, sampleRateHz * 1e-5);
    const rule = `band must begin at ${Number(least.toPrecision(3))} Hz or above for ${shortestS.toFixed(0)} s at ${sampleRateHz} Hz`;
    throw new RangeError(`runRecording: ${rule}, got ${order.bandHz.join(',')}`);
  }
  const [startMs, endMs] = order.windowMs;
  const samples = (ms: number) => Math.round((ms * sampleRateHz) / 1000);
  const from = samples(startMs);
  const samplesPerSweep = samples(endMs) - from;
  if (!(samplesPerSweep >= 8 && endMs > 0)) {
    throw new RangeError(
      `runRecording: window must end after the event and hold 8 samples, got ${startMs},${endMs} ms`,
    );
  }
  const [analysisStartMs, analysisEndMs] = order.analysisMs ?? [Math.max(0, startMs), endMs];
  if (
    !(analysisStartMs >= startMs && analysisEndMs <= endMs && samples(analysisEndMs) - samples(analysisStartMs) >= 4)
  ) {
    const rule = `must lie within ${startMs} to ${endMs} ms and hold 4 samples`;
    throw new RangeError(`runRecording: analysis window ${rule}, got ${analysisStartMs},${analysisEndMs}`);
  }
  const preSampleCount = Math.min(samplesPerSweep, Math.max(0, -from));
  const context: AveragingContext & { baseline: Baseline } = {
    samplesPerSweep,
    sampleRateHz,
    preSampleCount,
    analysisFrom: samples(analysisStartMs) - from,
    analysisTo: samples(analysisEndMs) - from,
    respectFlags: true,
    baseline: order.baseline ?? (preSampleCount > 0 ? 'pre-stimulus' : 'linear'),
  };
  if (order.baseline === 'pre-stimulus' && preSampleCount === 0) {
    throw new RangeError(`runRecording: baseline pre-stimulus needs a window that begins before 0 ms, got ${startMs}`);
  }
  return { sampleRateHz, from, context };
}
