import type { Recording, RecordingChannel } from './recording.ts';
import { listed, quoted, RecordingError } from './recordingError.ts';

/**
 * Picks channels by label.
 *
 * Labels are parted by commas; each picked channel stands for itself. Case counts only where two labels differ by it
 * alone. `A-B` is channel A minus channel B, unless a channel has that very label. The empty text picks nothing and
 * is refused.
 *
 * @param text - for example "TP9,TP10" or "Cz-A1"
 * @returns in the order asked for
 * @throws {RecordingError} for an unknown label, with the choices
 * @example selectChannels(recording, 'tp9, TP9-TP10').map((channel) => channel.label) // ['TP9', 'TP9-TP10']
 */
export function selectChannels(recording: Recording, text: string): RecordingChannel[] {
  const whole = findChannel(recording, text.trim());
  if (whole) return [whole]; // a label may hold a comma
  return text.split(',').map((part) => selectChannel(recording, part.trim()));
}

/** The channel of this label: the exact one, else the only one that matches when case is ignored. */
export function findChannel(recording: Recording, label: string): RecordingChannel | undefined {
  const exact = recording.channels.find((channel) => channel.label === label);
  if (exact) return exact;
  const alike = recording.channels.filter((channel) => channel.label.toLowerCase() === label.toLowerCase());
  return alike.length === 1 ? alike[0] : undefined;
}

function selectChannel(recording: Recording, label: string): RecordingChannel {
  const channel = findChannel(recording, label);
  if (channel) return channel;
  const differences: [RecordingChannel, RecordingChannel][] = [];
  for (let at = label.indexOf('-'); at >= 0; at = label.indexOf('-', at + 1)) {
    const plus = findChannel(recording, label.slice(0, at).trim());
    const minus = findChannel(recording, label.slice(at + 1).trim());
    if (plus && minus) differences.push([plus, minus]);
  }
  if (differences.length === 1) return difference(recording, ...differences[0]);
  const rule =
    differences.length > 1
      ? `must be one difference, got ${quoted(label)}, which can be read in ${differences.length} ways`
      : `must be one of ${listed(recording.channels.map(({ label: known }) => known))}, or A-B of two, got ${quoted(label)}`;
  throw new RecordingError(recording.name, 'channel', rule);
}

function difference(recording: Recording, plus: RecordingChannel, minus: RecordingChannel): RecordingChannel {
  const label = `${plus.label}-${minus.label}`;
  if (plus.sampleRateHz !== minus.sampleRateHz || plus.unit !== minus.unit) {
    const kinds = [plus, minus].map((channel) => `${channel.sampleRateHz} Hz ${channel.unit}`).join(' and ');
    throw new RecordingError(recording.name, `channel ${label}`, `both must have one rate and unit, got ${kinds}`);
  }
  const samplesUv = plus.samplesUv.map((sampleUv, i) => sampleUv - minus.samplesUv[i]);
  return { ...plus, label, samplesUv };
}
