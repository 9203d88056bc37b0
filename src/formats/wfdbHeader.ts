import { listed, quoted, RecordingError } from './recordingError.ts';

/** One signal of a WFDB record. */
export interface WfdbSignal {
  readonly fileName: string;
  /** Storage format of the samples, as the standard numbers it. */
  readonly format: WfdbFormat;
  readonly samplesPerFrame: number;
  readonly skewSampleCount: number;
  readonly offsetBytes: number;
  /** Sample steps per unit, the value that stands for 0, and the unit. */
  readonly stepsPerUnit: number;
  readonly baseline: number;
  readonly unit: string;
  readonly checksum: number | null;
  readonly label: string;
}

/** A WFDB header: names the files of a record and says how to read them. */
export interface WfdbHeader {
  readonly recordName: string;
  /** Frames per second; signals with more samples per frame are faster. */
  readonly frameRateHz: number;
  /** Null where the header leaves it open. */
  readonly frameCount: number | null;
  readonly signals: readonly WfdbSignal[];
}

/** Storage formats that are read: 8, 16 (both orders), 24 and 32 bits, and pairs of 12 bits. */
const wfdbFormats = [16, 24, 32, 61, 80, 212] as const;
export type WfdbFormat = (typeof wfdbFormats)[number];

const USUAL_RATE_HZ = 250; // of a header that states none: WFDB header specification, header(5)
const USUAL_GAIN = 200; // steps per mV of a signal whose gain is missing or 0: header(5)

/**
 * Reads a WFDB header (.hea): one line for the record, then one per signal; `#` begins a comment.
 *
 *     record signals [rate[/counter[(base)]] [frames [time [date]]]]
 *     file format[xN][:skew][+offset] [gain[(baseline)][/unit] [bits [zero [first [checksum [block [description]]]]]]]
 *
 * Source: WFDB header specification, header(5).
 *
 * @throws {RecordingError} for a line that breaks this, a storage format that is not read, or a record of segments
 */
export function readWfdbHeader(fileName: string, text: string): WfdbHeader {
  const lines = text
    .split(/\r?\n/)
    .map((line, k) => ({ words: line.trim().split(/\s+/), place: `line ${k + 1}`, text: line.trim() }))
    .filter((line) => line.text !== '' && !line.text.startsWith('#'));
  const fail = (place: string, rule: string): never => {
    throw new RecordingError(fileName, place, rule);
  };
  if (lines.length === 0) return fail('header', 'must hold a line for the record, got none');
  const [{ words, place }] = lines;
  const [recordName, countText, rateText, framesText] = words;
  if (recordName.includes('/')) return fail(place, `record of segments is not read, got ${quoted(recordName)}`);
  const signalCount = countOf(countText);
  if (!(signalCount > 0))
    return fail(place, `number of signals must be a whole number above 0, got ${shown(countText)}`);
  const frameRateHz = rateText === undefined ? USUAL_RATE_HZ : Number(rateText.split('/')[0]);
  if (!(frameRateHz > 0 && frameRateHz < Infinity))
    return fail(place, `rate must be above 0 Hz, got ${shown(rateText)}`);
  const frameCount = framesText === undefined ? 0 : countOf(framesText);
  if (!(frameCount >= 0)) return fail(place, `number of samples must be a whole number, got ${shown(framesText)}`);
  const signalLines = lines.slice(1, 1 + signalCount);
  if (signalLines.length < signalCount) {
    return fail('header', `must describe ${signalCount} signals, got ${signalLines.length}`);
  }
  return {
    recordName,
    frameRateHz,
    frameCount: frameCount === 0 ? null : frameCount,
    signals: signalLines.map((line, c) => readSignal(line.words, c, (rule) => fail(line.place, rule))),
  };
}

function readSignal(words: readonly string[], c: number, fail: (rule: string) => never): WfdbSignal {
  const [fileName, formatText = '', gainText = '', , zeroText, , checksumText, , ...description] = words;
  const format = /^(\d+)(?:x(\d+))?(?::(\d+))?(?:\+(\d+))?$/.exec(formatText);
  if (!format) return fail(`storage format must be a number, got ${quoted(formatText)}`);
  const code = Number(format[1]);
  const known = wfdbFormats.find((candidate) => candidate === code);
  if (known === undefined) return fail(`storage format must be one of ${listed(wfdbFormats.map(String))}, got ${code}`);
  const gain = /^([-+.\deE]+)?(?:\((-?\d+)\))?(?:\/(.+))?$/.exec(gainText);
  const steps = gain?.[1] === undefined ? 0 : Number(gain[1]);
  if (!gain || !(steps > -Infinity && steps < Infinity)) return fail(`gain must be a number, got ${quoted(gainText)}`);
  const zero = zeroText === undefined ? 0 : Number(zeroText);
  if (!Number.isInteger(zero)) return fail(`zero of the converter must be a whole number, got ${shown(zeroText)}`);
  const samplesPerFrame = Number(format[2] ?? 1);
  if (!(samplesPerFrame >= 1)) return fail(`samples per frame must be 1 or more, got ${samplesPerFrame}`);
  return {
    fileName,
    format: known,
    samplesPerFrame,
    skewSampleCount: Number(format[3] ?? 0),
    offsetBytes: Number(format[4] ?? 0),
    stepsPerUnit: steps === 0 ? USUAL_GAIN : steps,
    baseline: gain[2] === undefined ? zero : Number(gain[2]),
    unit: gain[3] ?? 'mV',
    checksum: checksumText === undefined || !/^-?\d+$/.test(checksumText) ? null : Number(checksumText),
    label: description.join(' ') || `signal-${c + 1}`,
  };
}

function countOf(text: string | undefined): number {
  return text !== undefined && /^\d+$/.test(text) ? Number(text) : NaN;
}

function shown(text: string | undefined): string {
  return text === undefined ? 'nothing' : quoted(text);
}
