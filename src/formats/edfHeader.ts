import { quoted, RecordingError } from './recordingError.ts';

/**
 * The header of an EDF or BDF file. Layout: Kemp et al. 1992 (EDF), Kemp and Olivan 2003 (EDF+); BDF is the same
 * with 3 bytes a sample and another first field.
 *
 * We keep a reader of our own: the format is small and open, and we found no maintained typed library that runs in
 * browser and Node, reads BDF and annotations, and lets a file with a harmless fault pass with a warning.
 */
export interface EdfHeader {
  readonly format: 'edf' | 'edf+' | 'bdf' | 'bdf+';
  /** EDF+D and BDF+D: records need not follow each other in time. */
  readonly discontinuous: boolean;
  readonly bytesPerSample: 2 | 3;
  readonly headerByteCount: number;
  /** -1 where the recorder never came to write it. */
  readonly recordCount: number;
  readonly recordDurationS: number;
  readonly signals: readonly EdfSignal[];
}

/** One signal's part of the header. */
export interface EdfSignal {
  readonly label: string;
  readonly transducer: string;
  readonly dimension: string;
  readonly prefiltering: string;
  readonly physicalMinimum: number;
  readonly physicalMaximum: number;
  readonly digitalMinimum: number;
  readonly digitalMaximum: number;
  readonly samplesPerRecord: number;
  readonly isAnnotations: boolean;
}

const FIXED_BYTES = 256;
const BYTES_PER_SIGNAL = 256;

/**
 * Reads and checks the header.
 *
 * @throws {RecordingError} if it is cut short, a field is not a number or the counts contradict each other
 */
export function readEdfHeader(fileName: string, bytes: Uint8Array): EdfHeader {
  const fail = (place: string, rule: string): never => {
    throw new RecordingError(fileName, place, rule);
  };
  const text = (offset: number, width: number): string => {
    let value = '';
    for (let i = offset; i < offset + width; i++) value += String.fromCharCode(bytes[i]);
    return value.replace(/\0/g, ' ').trim();
  };
  const number = (offset: number, width: number, place: string): number => {
    const field = text(offset, width);
    return NUMBER.test(field) ? Number(field) : fail(place, `must be a number, got ${quoted(field)}`);
  };

  const isBdf = bytes[0] === 0xff;
  const magic = isBdf ? 'BIOSEMI' : '0';
  if (text(isBdf ? 1 : 0, isBdf ? 7 : 8) !== magic) {
    fail('header, version', `must be "0" (EDF) or byte 255 and "BIOSEMI" (BDF), got ${quoted(text(0, 8))}`);
  }
  if (bytes.length < FIXED_BYTES) fail('header', `must be at least ${FIXED_BYTES} bytes, got ${bytes.length}`);

  const headerByteCount = number(184, 8, 'header, number of bytes in header');
  const reserved = text(192, 44);
  const recordCount = number(236, 8, 'header, number of data records');
  const recordDurationS = number(244, 8, 'header, duration of a data record');
  const signalCount = number(252, 4, 'header, number of signals');
  const expectedByteCount = FIXED_BYTES + BYTES_PER_SIGNAL * signalCount;

  if (!(Number.isInteger(signalCount) && signalCount > 0)) {
    fail('header, number of signals', `must be a whole number above 0, got ${signalCount}`);
  }
  if (headerByteCount !== expectedByteCount) {
    const rule = `must be 256 × (${signalCount} signals + 1) = ${expectedByteCount}, got ${headerByteCount}`;
    fail('header, number of bytes in header', rule);
  }
  if (bytes.length < headerByteCount) fail('header', `must be ${headerByteCount} bytes, file ends at ${bytes.length}`);
  if (!(Number.isInteger(recordCount) && recordCount >= -1)) {
    fail('header, number of data records', `must be a whole number, or -1 for unknown, got ${recordCount}`);
  }

  const signals: EdfSignal[] = [];
  for (let c = 0; c < signalCount; c++) {
    // Fields are stored by kind, not by signal: all labels, then all transducers, ...
    const at = (bytesBefore: number, width: number): number => FIXED_BYTES + signalCount * bytesBefore + c * width;
    const label = text(at(0, 16), 16);
    const place = `header, signal ${c + 1} (${label})`;
    const signal: EdfSignal = {
      label,
      transducer: text(at(16, 80), 80),
      dimension: text(at(96, 8), 8),
      physicalMinimum: number(at(104, 8), 8, `${place}, physical minimum`),
      physicalMaximum: number(at(112, 8), 8, `${place}, physical maximum`),
      digitalMinimum: number(at(120, 8), 8, `${place}, digital minimum`),
      digitalMaximum: number(at(128, 8), 8, `${place}, digital maximum`),
      prefiltering: text(at(136, 80), 80),
      samplesPerRecord: number(at(216, 8), 8, `${place}, samples in each data record`),
      isAnnotations: /^[EB]DF Annotations$/.test(label),
    };
    const { digitalMinimum, digitalMaximum, physicalMinimum, physicalMaximum, samplesPerRecord } = signal;
    if (!(digitalMinimum < digitalMaximum)) {
      fail(place, `digital minimum must be below digital maximum, got ${digitalMinimum} and ${digitalMaximum}`);
    }
    if (physicalMinimum === physicalMaximum && !signal.isAnnotations) {
      fail(place, `physical minimum and maximum must differ, got ${physicalMinimum} for both`);
    }
    if (!(Number.isInteger(samplesPerRecord) && samplesPerRecord > 0)) {
      fail(place, `samples in each data record must be a whole number above 0, got ${samplesPerRecord}`);
    }
    signals.push(signal);
  }
  if (!(recordDurationS >= 0) || (recordDurationS === 0 && signals.some((signal) => !signal.isAnnotations))) {
    fail('header, duration of a data record', `must be above 0 s, got ${recordDurationS}`);
  }

  const isPlus = /^[EB]DF\+/.test(reserved);
  return {
    format: isBdf ? (isPlus ? 'bdf+' : 'bdf') : isPlus ? 'edf+' : 'edf',
    discontinuous: /^[EB]DF\+D/.test(reserved),
    bytesPerSample: isBdf ? 3 : 2,
    headerByteCount,
    recordCount,
    recordDurationS,
    signals,
  };
}

const NUMBER = /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/;
