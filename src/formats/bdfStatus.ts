import type { RecordingEvent } from './recording.ts';

/**
 * Finds the trigger events of a BDF status channel.
 *
 * The lower 16 of the 24 bits are trigger inputs, the upper 8 tell the amplifier's state and are left out. An event
 * is a sample at which at least one trigger bit turns on; its label is the whole 16-bit code from there on. So 1 -> 2
 * is an event, 3 -> 1 (a bit let go) is not, and the level at the first sample is none either: it did not change.
 *
 * @param status - raw 24-bit values
 * @example findStatusEvents(Int32Array.of(0, 5, 5, 0), 256) // one event, label '5', at 1/256 s
 */
export function findStatusEvents(status: Int32Array, sampleRateHz: number): RecordingEvent[] {
  const events: RecordingEvent[] = [];
  for (let i = 1; i < status.length; i++) {
    const code = status[i] & TRIGGER_BITS;
    const turnedOn = code & ~status[i - 1];
    if (turnedOn !== 0) events.push({ timeS: i / sampleRateHz, label: String(code), source: 'status' });
  }
  return events;
}

const TRIGGER_BITS = 0xffff;
