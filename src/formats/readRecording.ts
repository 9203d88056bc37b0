import { readDelimitedText } from './delimitedText.ts';
import { readEdf } from './edf.ts';
import { gunzip, isGzip } from './gunzip.ts';
import { microvoltsPerUnit, voltageUnits } from './physicalUnit.ts';
import type { ReadRecordingOptions, Recording } from './recording.ts';
import { quoted, RecordingError } from './recordingError.ts';

/**
 * Reads a recording: EDF, EDF+, BDF, BDF+ or delimited text, each also gzipped. The content decides, then the name.
 *
 * Where the loss of a damaged file is known and small it is read with a warning; where the time of samples would be
 * a guess it is refused.
 *
 * @param fileName - for messages and for the choice of reader where the content leaves it open
 * @param bytes - the whole file
 * @throws {RecordingError} one line naming file, place, rule and value
 * @example readRecording('a.csv', new TextEncoder().encode('time,Cz\n0,1\n0.004,2\n')).channels[0].sampleRateHz // 250
 */
export function readRecording(fileName: string, bytes: Uint8Array, options: ReadRecordingOptions = {}): Recording {
  checkOptions(fileName, options);
  if (bytes.length === 0) throw new RecordingError(fileName, 'file', 'must hold a recording, got 0 bytes');
  try {
    const content = isGzip(bytes) ? gunzip(fileName, bytes) : bytes;
    if (content.length === 0) throw new RecordingError(fileName, 'gzip', 'must hold a recording, got 0 bytes');
    return looksLikeEdf(fileName, content)
      ? readEdf(fileName, content, options)
      : readDelimitedText(fileName, content, options);
  } catch (error) {
    if (error instanceof RecordingError) throw error;
    // What is left is the machine's own limit: a string or an array larger than the engine allows.
    throw new RecordingError(fileName, 'file', `could not be read: ${String(error)}`);
  }
}

function checkOptions(fileName: string, { sampleRateHz, unit }: ReadRecordingOptions): void {
  if (sampleRateHz !== undefined && !(sampleRateHz > 0 && sampleRateHz < Infinity)) {
    throw new RecordingError(fileName, 'sampling rate', `must be > 0 Hz, got ${sampleRateHz}`);
  }
  if (unit !== undefined && microvoltsPerUnit(unit) === undefined) {
    throw new RecordingError(fileName, 'unit', `must be one of ${voltageUnits.join(', ')}, got ${quoted(unit)}`);
  }
}

function looksLikeEdf(fileName: string, bytes: Uint8Array): boolean {
  if (bytes[0] === 0xff && bytes[1] === 0x42) return true; // 0xFF "BIOSEMI", and not the 0xFF 0xFE of UTF-16
  if (/\.(edf|bdf)(\.gz)?$/i.test(fileName)) return true;
  const start = String.fromCharCode(...bytes.subarray(0, 8));
  // Text may begin with these eight characters too, but it has a line end before long.
  return start === '0       ' && !bytes.subarray(0, 256).includes(0x0a);
}
