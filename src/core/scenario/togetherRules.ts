import { LEAD_IN_S } from '../stimulus/schedule.ts';
import type { Scenario } from './schema.ts';

/**
 * Checks what ties two keys together: filters and sample rate, window and interval, bands that are not upside down.
 *
 * @param refuse - told path, rule and value of what cannot be
 */
export function checkTogether(
  scenario: Scenario,
  refuse: (path: string, rule: string, value: number | string) => void,
): void {
  const { filter, converter, window, stimulus, session, muscle } = scenario;
  const nyquistHz = converter.sampleRateHz / 2;
  if (!(filter.lowPassHz < nyquistHz)) {
    refuse('filter.lowPassHz', `must be below half of converter.sampleRateHz (${nyquistHz} Hz)`, filter.lowPassHz);
  }
  if (!(filter.highPassHz < filter.lowPassHz)) {
    refuse('filter.highPassHz', `must be below filter.lowPassHz (${filter.lowPassHz} Hz)`, filter.highPassHz);
  }
  // Below these the rounding of double precision, amplified by poles next to z = 1, outgrows the signal (measured).
  const { highPassOrder: order } = filter;
  const lowestHz = converter.sampleRateHz * (order <= 2 ? 1e-6 : order <= 4 ? 5e-6 : 3e-4);
  if (!(filter.highPassHz >= lowestHz)) {
    const rule = `must be at least ${Number(lowestHz.toPrecision(3))} Hz for order ${order} at ${converter.sampleRateHz} Hz`;
    refuse('filter.highPassHz', rule, filter.highPassHz);
  }
  // Its look-ahead is some 18 time constants: below this, more than half a minute.
  const slowestHz = 0.1 * order;
  if (!(filter.phase === 'causal' || filter.highPassHz >= slowestHz)) {
    const rule = `must be at least ${Number(slowestHz.toPrecision(3))} Hz for order ${order} in filter.phase zero-phase`;
    refuse('filter.highPassHz', rule, filter.highPassHz);
  }
  if (!(filter.notchHz < nyquistHz)) {
    refuse('filter.notchHz', `must be below half of converter.sampleRateHz (${nyquistHz} Hz)`, filter.notchHz);
  }
  if (!(muscle.lowHz < muscle.highHz)) {
    refuse('muscle.lowHz', `must be below muscle.highHz (${muscle.highHz} Hz)`, muscle.lowHz);
  }
  if (!(muscle.highHz < nyquistHz)) {
    refuse('muscle.highHz', `must be below half of converter.sampleRateHz (${nyquistHz} Hz)`, muscle.highHz);
  }
  if (!(window.analysisFromMs >= -window.preMs)) {
    refuse('window.analysisFromMs', `must be at least −window.preMs (${-window.preMs} ms)`, window.analysisFromMs);
  }
  if (!(window.analysisToMs <= window.postMs)) {
    refuse('window.analysisToMs', `must be at most window.postMs (${window.postMs} ms)`, window.analysisToMs);
  }
  if (!(((window.analysisToMs - window.analysisFromMs) * converter.sampleRateHz) / 1000 >= 8)) {
    refuse('window.analysisToMs', `must be at least 8 samples after window.analysisFromMs`, window.analysisToMs);
  }
  if (scenario.averaging.baseline === 'pre-stimulus' && !((window.preMs * converter.sampleRateHz) / 1000 >= 1)) {
    refuse('window.preMs', 'must hold at least 1 sample for averaging.baseline pre-stimulus', window.preMs);
  }
  const leadInMs = 1000 * LEAD_IN_S;
  if (!(window.preMs + stimulus.jitterMs <= leadInMs)) {
    const rule = `must be at most ${leadInMs} ms less stimulus.jitterMs (${stimulus.jitterMs} ms)`;
    refuse('window.preMs', rule, window.preMs);
  }
  const intervalMs = 1000 / stimulus.ratePerS;
  if (!(2 * stimulus.jitterMs < intervalMs)) {
    refuse('stimulus.jitterMs', `must be below half the interval (${wholeUs(intervalMs / 2)} ms)`, stimulus.jitterMs);
  }
  if (!(window.postMs <= intervalMs)) {
    refuse(
      'window.postMs',
      `must fit the interval at ${stimulus.ratePerS}/s (${wholeUs(intervalMs)} ms)`,
      window.postMs,
    );
  }
  if (!(session.durationS * stimulus.ratePerS >= 8)) {
    refuse('session.durationS', 'must hold at least 8 sweeps', session.durationS);
  }
}

/** Microseconds are all that a message needs of a time; rounded down, so that what it names is within the limit. */
function wholeUs(valueMs: number): number {
  return Math.floor(1000 * valueMs + 1e-6) / 1000;
}
