import type { RecordingChannel } from './recording.ts';

/**
 * Gives the second and later channels of one label a number, since channels are picked by label.
 *
 * @example withUniqueLabels([cz, alsoCz], warnings).map((channel) => channel.label) // ['Cz', 'Cz#2']
 */
export function withUniqueLabels(channels: readonly RecordingChannel[], warnings: string[]): RecordingChannel[] {
  const taken = new Set(channels.map((channel) => channel.label));
  const nextNumber = new Map<string, number>();
  return channels.map((channel) => {
    let number = nextNumber.get(channel.label);
    if (number === undefined) {
      nextNumber.set(channel.label, 2);
      return channel;
    }
    while (taken.has(`${channel.label}#${number}`)) number++;
    nextNumber.set(channel.label, number + 1);
    const label = `${channel.label}#${number}`;
    warnings.push(`channel label ${channel.label} is used again; that channel is read as ${label}`);
    return { ...channel, label };
  });
}
