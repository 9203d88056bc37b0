import type { RecordingContents } from '../worker/recordingClient.ts';

/** How a recording is cut and filtered until the person says otherwise. */
export interface RecordingSettings {
  channel: string;
  events: string;
  windowMs: [number, number];
  bandHz: [number, number];
}

/**
 * A first guess for a recording: the first signal channel, the first event, and a window and band for late responses
 * or, at sample rates that allow them, for early ones. Our choice.
 */
export function recordingDefaults({ channels, events }: RecordingContents): RecordingSettings {
  const isMarker = (label: string) => events.some(({ selector }) => selector.startsWith(`${label}=`));
  const signal = channels.find(({ label, unit }) => unit === 'µV' && !isMarker(label)) ?? channels[0];
  const early = signal.sampleRateHz >= 8000;
  return {
    channel: signal.label,
    events: events[0]?.selector ?? '',
    windowMs: early ? [-5, 15] : [-100, 700],
    bandHz: early ? [100, 1500] : [1, Math.min(30, Math.floor(0.4 * signal.sampleRateHz))],
  };
}
