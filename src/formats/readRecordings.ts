import { readRecording } from './readRecording.ts';
import type { ReadRecordingOptions, Recording } from './recording.ts';
import { RecordingError } from './recordingError.ts';
import { type NamedBytes, readWfdb, wfdbFileNames } from './wfdb.ts';

const HEADER = /\.hea$/i;

/**
 * Reads a set of files: each file a recording, except that a WFDB header takes the files of its record with it.
 *
 * @throws {RecordingError} as `readRecording` and `readWfdb` do, and for a set without a recording
 * @example readRecordings([{ name: 'a.hea', bytes }, { name: 'a.dat', bytes }, { name: 'b.edf', bytes }]).length // 2
 */
export function readRecordings(files: readonly NamedBytes[], options: ReadRecordingOptions = {}): Recording[] {
  const headers = files.filter(({ name }) => HEADER.test(name));
  const stems = headers.map(({ name }) => name.replace(HEADER, '.').toLowerCase());
  const named = new Set(headers.flatMap(wfdbFileNames).map((name) => name.toLowerCase()));
  const single = files.filter(({ name }) => {
    const lower = name.toLowerCase();
    return !named.has(lower) && !stems.some((stem) => lower.startsWith(stem));
  });
  for (const { name } of single) {
    if (/\.(dat|atr)$/i.test(name)) {
      const remedy = 'give its header (.hea) too';
      throw new RecordingError(name, 'file', `must come with the header that says how to read it; ${remedy}`);
    }
  }
  return [
    ...headers.map((header) =>
      readWfdb(
        header,
        files.filter((file) => file !== header),
      ),
    ),
    ...single.map(({ name, bytes }) => readRecording(name, bytes, options)),
  ];
}
