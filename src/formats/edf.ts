import { findStatusEvents } from './bdfStatus.ts';
import { readAnnotationLists } from './edfAnnotations.ts';
import { type EdfHeader, type EdfSignal, readEdfHeader } from './edfHeader.ts';
import { microvoltsPerUnit } from './physicalUnit.ts';
import type { ReadRecordingOptions, Recording, RecordingChannel, RecordingEvent } from './recording.ts';
import { quoted, RecordingError } from './recordingError.ts';
import { withUniqueLabels } from './uniqueLabels.ts';

/**
 * Reads an EDF, EDF+, BDF or BDF+ file.
 *
 * Read with a warning: an unknown, too large or too small number of data records (the complete ones count),
 * annotation fields that should be blank, channels that are no voltage, annotations that cannot be read.
 * Refused: a broken header, no complete data record, records that do not follow each other in time.
 *
 * @throws {RecordingError} see above
 */
export function readEdf(fileName: string, bytes: Uint8Array, options: ReadRecordingOptions): Recording {
  const header = readEdfHeader(fileName, bytes);
  const warnings: string[] = [];
  if (options.sampleRateHz !== undefined)
    warnings.push('the file states its own sampling rates; the given one is not used');
  if (options.unit !== undefined) warnings.push('the file states its own units; the given one is not used');

  const layout = layOutRecords(fileName, bytes, header, warnings);
  const channels: RecordingChannel[] = [];
  let events = readAnnotations(fileName, bytes, header, layout, warnings);

  header.signals.forEach((signal, c) => {
    if (signal.isAnnotations) {
      checkBlankFields(signal, warnings);
      return;
    }
    const sampleRateHz = signal.samplesPerRecord / header.recordDurationS;
    const digital = readDigital(bytes, layout, c, header);
    if (isStatus(signal, header)) events = events.concat(findStatusEvents(digital, sampleRateHz));
    else channels.push(toChannel(signal, sampleRateHz, digital, warnings));
  });

  events.sort((a, b) => a.timeS - b.timeS);
  if (channels.length === 0) warnings.push('the file holds annotations only, no signal');
  return {
    name: fileName,
    format: header.format,
    channels: withUniqueLabels(channels, warnings),
    events,
    missing: [],
    warnings,
  };
}

interface RecordLayout {
  readonly recordCount: number;
  readonly recordByteCount: number;
  /** Where each signal begins within a data record, bytes. */
  readonly signalOffsets: readonly number[];
}

function layOutRecords(fileName: string, bytes: Uint8Array, header: EdfHeader, warnings: string[]): RecordLayout {
  let recordByteCount = 0;
  const signalOffsets = header.signals.map((signal) => {
    const offset = recordByteCount;
    recordByteCount += signal.samplesPerRecord * header.bytesPerSample;
    return offset;
  });
  const dataByteCount = bytes.length - header.headerByteCount;
  const completeCount = Math.floor(dataByteCount / recordByteCount);
  const leftOverBytes = dataByteCount - completeCount * recordByteCount;
  const stated = header.recordCount;
  if (stated === 0 || completeCount === 0) {
    const rule = `must hold at least one of ${recordByteCount} bytes, got ${dataByteCount} bytes (header states ${stated})`;
    throw new RecordingError(fileName, 'data records', rule);
  }
  if (stated === -1) {
    warnings.push(`the header leaves the number of data records open (-1); read the ${completeCount} complete ones`);
  } else if (stated > completeCount) {
    warnings.push(
      `the header states ${stated} data records, the file ends early; read the ${completeCount} complete ones`,
    );
  } else if (stated < completeCount || leftOverBytes > 0) {
    const surplusBytes = dataByteCount - stated * recordByteCount;
    warnings.push(`${surplusBytes} bytes after the ${stated} data records stated in the header were left out`);
  }
  const recordCount = stated === -1 ? completeCount : Math.min(stated, completeCount);
  return { recordCount, recordByteCount, signalOffsets };
}

/** EDF+ specification, section 2.2.1: the fields of an annotation signal that have no meaning are spaces. */
function checkBlankFields(signal: EdfSignal, warnings: string[]): void {
  const { transducer, dimension, prefiltering } = signal;
  const filled = Object.entries({ transducer, dimension, prefiltering }).filter(([, value]) => value !== '');
  if (filled.length === 0) return;
  const fields = filled.map(([field, value]) => `${field} ${quoted(value)}`).join(', ');
  warnings.push(`${signal.label}: header fields should be blank (EDF+ 2.2.1), got ${fields}; read all the same`);
}

function isStatus(signal: EdfSignal, header: EdfHeader): boolean {
  const named = /^status$/i.test(signal.label) || /^triggers and status$/i.test(signal.transducer);
  return named && header.bytesPerSample === 3;
}

function readDigital(bytes: Uint8Array, layout: RecordLayout, c: number, header: EdfHeader): Int32Array {
  const { samplesPerRecord } = header.signals[c];
  const digital = new Int32Array(layout.recordCount * samplesPerRecord);
  let i = 0;
  for (let r = 0; r < layout.recordCount; r++) {
    let at = header.headerByteCount + r * layout.recordByteCount + layout.signalOffsets[c];
    if (header.bytesPerSample === 2) {
      for (let s = 0; s < samplesPerRecord; s++, at += 2)
        digital[i++] = ((bytes[at] | (bytes[at + 1] << 8)) << 16) >> 16;
    } else {
      for (let s = 0; s < samplesPerRecord; s++, at += 3) {
        digital[i++] = ((bytes[at] | (bytes[at + 1] << 8) | (bytes[at + 2] << 16)) << 8) >> 8;
      }
    }
  }
  return digital;
}

function toChannel(signal: EdfSignal, sampleRateHz: number, digital: Int32Array, warnings: string[]): RecordingChannel {
  const label = signal.label || 'unnamed';
  const voltage = microvoltsPerUnit(signal.dimension);
  if (voltage === undefined) {
    const unit = signal.dimension === '' ? 'no unit' : `unit ${quoted(signal.dimension)}`;
    warnings.push(`channel ${label} has ${unit}, not a voltage; its numbers are left as they are`);
  }
  const scaleUv = voltage ?? 1;
  const { digitalMinimum, digitalMaximum, physicalMinimum, physicalMaximum } = signal;
  const stepUv = ((physicalMaximum - physicalMinimum) / (digitalMaximum - digitalMinimum)) * scaleUv;
  const minimumUv = physicalMinimum * scaleUv;
  const samplesUv = new Float64Array(digital.length);
  for (let i = 0; i < digital.length; i++) samplesUv[i] = (digital[i] - digitalMinimum) * stepUv + minimumUv;
  return { label, unit: voltage === undefined ? signal.dimension : 'µV', sampleRateHz, samplesUv, scaleUv };
}

function readAnnotations(
  fileName: string,
  bytes: Uint8Array,
  header: EdfHeader,
  layout: RecordLayout,
  warnings: string[],
): RecordingEvent[] {
  const signalIndexes = header.signals.flatMap((signal, c) => (signal.isAnnotations ? [c] : []));
  const found: RecordingEvent[] = [];
  const recordStartsS: (number | undefined)[] = [];
  let unreadableCount = 0;
  for (let r = 0; r < layout.recordCount; r++) {
    signalIndexes.forEach((c, order) => {
      const start = header.headerByteCount + r * layout.recordByteCount + layout.signalOffsets[c];
      const end = start + header.signals[c].samplesPerRecord * header.bytesPerSample;
      const read = readAnnotationLists(bytes.subarray(start, end));
      unreadableCount += read.unreadableCount;
      // The first list of the first annotation signal keeps the record's time (EDF+ 2.2.4).
      if (order === 0) recordStartsS.push(read.lists[0]?.onsetS);
      for (const { onsetS, durationS, texts } of read.lists) {
        for (const label of texts) {
          const event = { timeS: onsetS, label, source: 'annotation' as const };
          found.push(durationS === undefined ? event : { ...event, durationS });
        }
      }
    });
  }
  if (unreadableCount > 0) warnings.push(`${unreadableCount} annotation entries could not be read and were left out`);
  checkRecordTimes(fileName, header, recordStartsS, warnings);

  // Onsets count from the file's start time, which the first sample may follow by a fraction of a second.
  const firstSampleS = recordStartsS[0] ?? 0;
  return found.map((event) => ({ ...event, timeS: event.timeS - firstSampleS }));
}

function checkRecordTimes(
  fileName: string,
  header: EdfHeader,
  recordStartsS: readonly (number | undefined)[],
  warnings: string[],
): void {
  if (header.discontinuous && recordStartsS.length === 0) {
    throw new RecordingError(
      fileName,
      'header',
      `${header.format} discontinuous must have an annotation signal, got none`,
    );
  }
  const ratesHz = header.signals
    .filter((signal) => !signal.isAnnotations)
    .map((signal) => signal.samplesPerRecord / header.recordDurationS);
  if (ratesHz.length === 0) return;
  const toleranceS = 0.5 / Math.max(...ratesHz); // half a sample of the fastest signal cannot shift any sample
  const firstS = recordStartsS[0] ?? 0;
  for (let r = 0; r < recordStartsS.length; r++) {
    const expectedS = firstS + r * header.recordDurationS;
    const startS = recordStartsS[r];
    if (startS !== undefined && Math.abs(startS - expectedS) <= toleranceS) continue;
    const rule =
      startS === undefined
        ? 'must state when it starts, got no time-keeping annotation'
        : `must start at ${expectedS} s, where the one before ends, got ${startS} s`;
    if (header.discontinuous) {
      const remedy = 'the recording has pauses; save its parts as continuous files';
      throw new RecordingError(fileName, `data record ${r + 1}`, `${rule} (${remedy})`);
    }
    warnings.push(`data record ${r + 1} ${rule}; read as continuous, as the header states`);
    return; // one line is enough: the records after it are off by the same amount
  }
}
