import { findChannel } from './channelSelection.ts';
import { handMadeEvents, handMadeNames, isHandMade } from './handMadeEvents.ts';
import type { Recording, RecordingChannel } from './recording.ts';
import { listed, quoted, RecordingError } from './recordingError.ts';

/** Something a user can pick as the event of a recording. */
export interface EventChoice {
  /** As `selectEvents` reads it, for example "Marker0=2". */
  readonly selector: string;
  readonly eventCount: number;
}

/**
 * Picks the times of events.
 *
 * Selectors are parted by commas, and their times are merged:
 * - `Marker0=2`: the marker column (or channel) named so takes the value 2; several codes as `Marker0=1,2`. A run of
 *   samples with the same code is one event, at its first sample.
 * - `annotation=TEXT`: the annotations with that very text, case included; the text may hold commas.
 * - `status=CODE`: the trigger codes of a BDF status channel; several as `status=1,2`.
 * - `rise=CHANNEL@LEVEL`, `fall=CHANNEL@LEVEL`, `every=STEP@FIRST`: see `handMadeEvents`, unless a channel is named so.
 *
 * @param text - for example "Marker0=2" or "annotation=target"
 * @returns s from the first sample, rising, each time once
 * @throws {RecordingError} for an unknown column, a code that is no number, or if nothing matches, with the choices
 * @example selectEvents(recording, 'Marker0=2') // [1.25, 3.5]
 */
export function selectEvents(recording: Recording, text: string): number[] {
  const times = new Set<number>();
  for (const { name, value } of parseSelectors(recording, text)) {
    const found = findEvents(recording, name, value);
    if (found.length === 0) {
      const rule = `must match an event, got ${quoted(`${name}=${value}`)}; there are ${describeChoices(recording)}`;
      throw new RecordingError(recording.name, 'events', rule);
    }
    for (const timeS of found) times.add(timeS);
  }
  return [...times].sort((a, b) => a - b);
}

/**
 * Lists what can be picked: each annotation text, each status code, and each code of the channels that look like
 * marker columns (whole numbers, at least half of them 0, few different ones).
 *
 * @example eventChoices(recording) // [{ selector: 'Marker0=1', eventCount: 143 }, { selector: 'Marker0=2', ... }]
 */
export function eventChoices(recording: Recording): EventChoice[] {
  const counts = new Map<string, number>();
  for (const { source, label } of recording.events) {
    const selector = `${source}=${label}`;
    counts.set(selector, (counts.get(selector) ?? 0) + 1);
  }
  for (const channel of recording.channels) {
    for (const code of markerCodes(channel)) {
      counts.set(`${channel.label}=${code}`, codeTimes(channel, [code]).length);
    }
  }
  return [...counts].map(([selector, eventCount]) => ({ selector, eventCount }));
}

interface Selector {
  readonly name: string;
  readonly value: string;
}

function parseSelectors(recording: Recording, text: string): Selector[] {
  // A comma begins a new selector only if a name and "=" follow: codes and texts may hold commas.
  return text.split(/,(?=[^,=]+=)/).map((part) => {
    const equals = part.indexOf('=');
    const name = part.slice(0, Math.max(0, equals)).trim();
    const value = part.slice(equals + 1).trim();
    if (name !== '' && value !== '') return { name, value };
    const rule = `must be COLUMN=CODE, annotation=TEXT, status=CODE, rise=CHANNEL@LEVEL or every=STEP@FIRST, got ${quoted(part)}`;
    throw new RecordingError(recording.name, 'events', `${rule}; there are ${describeChoices(recording)}`);
  });
}

function findEvents(recording: Recording, name: string, value: string): number[] {
  const source = name.toLowerCase();
  const sourced = recording.events.filter((event) => event.source === source);
  if (source === 'annotation' && (sourced.length > 0 || !findChannel(recording, name))) {
    return sourced.filter((event) => event.label === value).map((event) => event.timeS);
  }
  if (source === 'status' && (sourced.length > 0 || !findChannel(recording, name))) {
    const codes = parseCodes(recording, name, value).map(String);
    return sourced.filter((event) => codes.includes(event.label)).map((event) => event.timeS);
  }
  const channel = findChannel(recording, name);
  if (!channel && isHandMade(source)) return handMadeEvents(recording, source, value);
  if (!channel) {
    const names = [
      ...recording.channels.map(({ label }) => label),
      ...new Set(recording.events.map((event) => event.source)),
      ...handMadeNames,
    ];
    throw new RecordingError(recording.name, 'events', `column must be one of ${listed(names)}, got ${quoted(name)}`);
  }
  return codeTimes(channel, parseCodes(recording, name, value));
}

function parseCodes(recording: Recording, name: string, value: string): number[] {
  return value.split(',').map((part) => {
    const code = part.trim() === '' ? NaN : Number(part);
    if (Number.isFinite(code) && code !== 0) return code;
    throw new RecordingError(
      recording.name,
      `events, ${name}`,
      `code must be a number other than 0, got ${quoted(part)}`,
    );
  });
}

const CODE_TOLERANCE = 0.01; // our choice: scaled trigger channels miss whole numbers by less

/** When a channel takes one of the codes, s; a run of one code counts once. */
function codeTimes({ samplesUv, scaleUv, sampleRateHz }: RecordingChannel, codes: readonly number[]): number[] {
  const times: number[] = [];
  let lastCode: number | undefined;
  for (let i = 0; i < samplesUv.length; i++) {
    const value = samplesUv[i] / scaleUv;
    const code = codes.find((candidate) => Math.abs(value - candidate) < CODE_TOLERANCE);
    if (code !== undefined && code !== lastCode) times.push(i / sampleRateHz);
    lastCode = code;
  }
  return times;
}

const MAXIMUM_MARKER_CODES = 64; // our choice: more different numbers are a signal, not a marker

/** The codes other than 0, rising; empty if the channel does not look like a marker column. */
function markerCodes({ samplesUv, scaleUv }: RecordingChannel): number[] {
  const codes = new Set<number>();
  let zeroCount = 0;
  for (let i = 0; i < samplesUv.length; i++) {
    const value = samplesUv[i] / scaleUv;
    const code = Math.round(value);
    if (Math.abs(value - code) >= CODE_TOLERANCE) return [];
    if (code === 0) zeroCount++;
    else if (codes.add(code).size > MAXIMUM_MARKER_CODES) return [];
  }
  return zeroCount >= samplesUv.length / 2 ? [...codes].sort((a, b) => a - b) : [];
}

function describeChoices(recording: Recording): string {
  return listed(eventChoices(recording).map(({ selector, eventCount }) => `${selector} (${eventCount})`));
}
