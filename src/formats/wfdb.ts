import { microvoltsPerUnit } from './physicalUnit.ts';
import type { MissingSpan, Recording, RecordingChannel, RecordingEvent } from './recording.ts';
import { listed, quoted, RecordingError } from './recordingError.ts';
import { withUniqueLabels } from './uniqueLabels.ts';
import { readWfdbAnnotations } from './wfdbAnnotations.ts';
import { readWfdbHeader, type WfdbHeader, type WfdbSignal } from './wfdbHeader.ts';
import { type StoredSamples, unpackWfdbSamples } from './wfdbSamples.ts';

/** A file by name. */
export interface NamedBytes {
  readonly name: string;
  readonly bytes: Uint8Array;
}

/** The files that a WFDB header names, so that they can be looked for beside it. */
export function wfdbFileNames(header: NamedBytes): string[] {
  const { signals } = readWfdbHeader(header.name, new TextDecoder().decode(header.bytes));
  return [...new Set(signals.map(({ fileName }) => fileName))];
}

/**
 * Reads a WFDB record: its header, the signal files that the header names, and annotation files of its name.
 *
 * Read with a warning: a signal file that ends early or goes on, a checksum that does not match, channels that are no
 * voltage. Samples marked as not recorded are filled with the one before and told as missing.
 *
 * @param others - the files beside the header; those that it does not name and that are no annotations are left alone
 * @throws {RecordingError} for a header that cannot be read, a signal file that is not there or is too short
 */
export function readWfdb(header: NamedBytes, others: readonly NamedBytes[]): Recording {
  const record = readWfdbHeader(header.name, new TextDecoder().decode(header.bytes));
  const warnings: string[] = [];
  const missing: MissingSpan[] = [];
  const channels: RecordingChannel[] = [];
  for (const fileName of new Set(record.signals.map((signal) => signal.fileName))) {
    const file = others.find(({ name }) => name.toLowerCase() === fileName.toLowerCase());
    if (!file) {
      const there = others.length === 0 ? 'none' : listed(others.map(({ name }) => name));
      throw new RecordingError(header.name, 'signals', `${quoted(fileName)} must lie beside it, got ${there}`);
    }
    channels.push(...readSignalFile(header.name, record, file, missing, warnings));
  }
  return {
    name: header.name,
    format: 'wfdb',
    channels: withUniqueLabels(channels, warnings),
    events: readEvents(header.name, record, others, warnings),
    missing: missing.sort((a, b) => a.startS - b.startS),
    warnings,
  };
}

function readSignalFile(
  recordFile: string,
  record: WfdbHeader,
  file: NamedBytes,
  missing: MissingSpan[],
  warnings: string[],
): RecordingChannel[] {
  const group = record.signals.filter(({ fileName }) => fileName.toLowerCase() === file.name.toLowerCase());
  const [{ format, offsetBytes }] = group;
  if (group.some((signal) => signal.format !== format)) {
    throw new RecordingError(recordFile, file.name, 'signals of one file must have one storage format');
  }
  const stored = unpackWfdbSamples(file.bytes.subarray(offsetBytes), format);
  const perFrame = group.reduce((sum, { samplesPerFrame }) => sum + samplesPerFrame, 0);
  const foundCount = Math.floor(stored.values.length / perFrame);
  const statedCount = record.frameCount ?? foundCount;
  if (foundCount === 0) throw new RecordingError(recordFile, file.name, 'must hold at least one sample of each signal');
  if (foundCount < statedCount) {
    warnings.push(`${file.name} ends early: ${foundCount} of ${statedCount} samples; the complete ones are read`);
  } else if (stored.values.length - statedCount * perFrame >= perFrame) {
    warnings.push(`${file.name} goes on after the ${statedCount} samples that the header states; the rest is left out`);
  }
  const frameCount = Math.min(foundCount, statedCount);
  let offset = 0;
  return group.map((signal) => {
    const channel = readChannel(record, signal, stored, { perFrame, offset, frameCount }, missing, warnings);
    offset += signal.samplesPerFrame;
    return channel;
  });
}

function readChannel(
  { frameRateHz }: WfdbHeader,
  signal: WfdbSignal,
  { values, invalid }: StoredSamples,
  { perFrame, offset, frameCount }: { perFrame: number; offset: number; frameCount: number },
  missing: MissingSpan[],
  warnings: string[],
): RecordingChannel {
  const { label, samplesPerFrame, skewSampleCount, stepsPerUnit, baseline, checksum } = signal;
  const voltage = microvoltsPerUnit(signal.unit);
  if (voltage === undefined) {
    warnings.push(`channel ${label} has unit ${quoted(signal.unit)}, not a voltage; its numbers are left as they are`);
  }
  const scaleUv = voltage ?? 1;
  const sampleRateHz = frameRateHz * samplesPerFrame;
  const samplesUv = new Float64Array(frameCount * samplesPerFrame);
  let sum = 0;
  let lostFrom = -1;
  for (let i = 0; i < samplesUv.length; i++) {
    const frame = Math.floor(i / samplesPerFrame);
    // A skewed signal was written that many frames late: its samples are moved back in time.
    const from = frame + skewSampleCount;
    const value = from < frameCount ? values[from * perFrame + offset + (i % samplesPerFrame)] : (invalid ?? 0);
    if (from < frameCount) sum += value;
    const isLost = value === invalid;
    samplesUv[i] = isLost ? (i > 0 ? samplesUv[i - 1] : 0) : ((value - baseline) / stepsPerUnit) * scaleUv;
    if (isLost && lostFrom < 0) lostFrom = i;
    if (!isLost && lostFrom >= 0) {
      missing.push({ startS: lostFrom / sampleRateHz, endS: i / sampleRateHz });
      lostFrom = -1;
    }
  }
  if (lostFrom >= 0) missing.push({ startS: lostFrom / sampleRateHz, endS: samplesUv.length / sampleRateHz });
  // 16-bit sum of the samples as stored. A skewed signal loses its first samples here, so its sum cannot be compared.
  if (checksum !== null && skewSampleCount === 0 && ((sum - checksum) & 0xffff) !== 0) {
    warnings.push(`channel ${label}: the sum of its samples does not match the header; the file may be damaged or cut`);
  }
  return { label, unit: voltage === undefined ? signal.unit : 'µV', sampleRateHz, samplesUv, scaleUv };
}

/** Annotations: every file with the record's name whose ending is no other format's. */
function readEvents(
  recordFile: string,
  { frameRateHz, signals }: WfdbHeader,
  others: readonly NamedBytes[],
  warnings: string[],
): RecordingEvent[] {
  const stem = recordFile.replace(/\.hea$/i, '').toLowerCase();
  const signalFiles = new Set(signals.map(({ fileName }) => fileName.toLowerCase()));
  const events = others
    .filter(({ name }) => name.toLowerCase().startsWith(`${stem}.`) && !signalFiles.has(name.toLowerCase()))
    .flatMap(({ name, bytes }) => {
      const { annotations, ticksPerS } = readWfdbAnnotations(bytes);
      if (annotations.length === 0) warnings.push(`${name} holds no annotations`);
      return annotations.map(({ tick, label }): RecordingEvent => {
        return { timeS: tick / (ticksPerS ?? frameRateHz), label, source: 'annotation' };
      });
    });
  return events.sort((a, b) => a.timeS - b.timeS);
}
