import { findChannel } from './channelSelection.ts';
import type { Recording, RecordingChannel } from './recording.ts';
import { listed, quoted, RecordingError } from './recordingError.ts';

/** Ways to say where the stimuli are when the file does not. */
export const handMadeNames = ['rise', 'fall', 'every'] as const;
export type HandMadeName = (typeof handMadeNames)[number];

const MOST_EVENTS = 1e6; // our choice: more stimuli than any session has; a slip of the decimal point asks for more

/**
 * Finds events that the file does not name: where a channel crosses a level, or on a steady beat.
 *
 *     rise=CHANNEL@LEVEL    first sample at or above LEVEL after one below it, LEVEL in µV
 *     fall=CHANNEL@LEVEL    first sample at or below LEVEL after one above it
 *     every=STEP@FIRST      FIRST, FIRST + STEP, … s up to the end of the longest channel
 *
 * @returns s from the first sample, rising
 * @throws {RecordingError} for a value that is not of this form, or an unknown channel
 * @example handMadeEvents(recording, 'every', '0.5@0.25') // [0.25, 0.75, …]
 */
export function handMadeEvents(recording: Recording, name: HandMadeName, value: string): number[] {
  const at = value.lastIndexOf('@');
  const before = value.slice(0, Math.max(0, at)).trim();
  const afterText = value.slice(at + 1).trim();
  const after = afterText === '' ? NaN : Number(afterText);
  const fail = (rule: string): never => {
    throw new RecordingError(recording.name, `events, ${name}`, `${rule}, got ${quoted(value)}`);
  };
  if (at < 1 || !Number.isFinite(after)) {
    return fail(name === 'every' ? 'must be STEP@FIRST in seconds' : 'must be CHANNEL@LEVEL with the level in µV');
  }
  if (name === 'every') return steadyBeat(recording, Number(before), after, fail);
  const channel = findChannel(recording, before);
  if (!channel) return fail(`channel must be one of ${listed(recording.channels.map(({ label }) => label))}`);
  return crossings(channel, after, name === 'rise' ? 1 : -1);
}

export function isHandMade(name: string): name is HandMadeName {
  return handMadeNames.some((known) => known === name);
}

function steadyBeat(recording: Recording, stepS: number, firstS: number, fail: (rule: string) => never): number[] {
  if (!(stepS > 0 && stepS < Infinity)) return fail('STEP must be above 0 s');
  const endS = Math.max(0, ...recording.channels.map(({ samplesUv, sampleRateHz }) => samplesUv.length / sampleRateHz));
  const count = Math.floor((endS - firstS) / stepS) + 1;
  if (!(firstS >= 0 && count >= 1)) return fail(`FIRST must lie within the recording (0 to ${endS} s)`);
  if (count > MOST_EVENTS) return fail(`STEP must give at most ${MOST_EVENTS} events`);
  return Array.from({ length: count }, (_, k) => firstS + k * stepS);
}

function crossings({ samplesUv, sampleRateHz }: RecordingChannel, levelUv: number, sign: 1 | -1): number[] {
  const times: number[] = [];
  for (let i = 1; i < samplesUv.length; i++) {
    if (sign * (samplesUv[i] - levelUv) >= 0 && sign * (samplesUv[i - 1] - levelUv) < 0) times.push(i / sampleRateHz);
  }
  return times;
}
