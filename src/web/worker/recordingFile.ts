import type { Scenario } from '../../core/scenario/schema.ts';
import { beatS, presentationCount } from '../../core/stimulus/schedule.ts';
import { type SessionFileOrder, sessionFile } from '../../formats/sessionFile.ts';

/** A session and the file that it shall become. */
export interface RecordingFileOrder {
  scenario: Scenario;
  seed: string;
  order: SessionFileOrder;
}

/** A written recording. */
export interface RecordingFile {
  file: Blob;
  /** Samples beyond what the format holds at its range. */
  clippedCount: number;
}

const PART_BYTES = 4e6; // many small parts would slow the joining, one large one would need the memory twice

/** Writes the recording of a session. @returns a generator of progress 0 … 1, then the file */
export function* recordingFile(wanted: RecordingFileOrder): Generator<number, RecordingFile> {
  const file = sessionFile(wanted.scenario, wanted.seed, wanted.order);
  const expectedBytes = expectedSize(wanted, file.header(-1).length);
  const parts: Blob[] = [];
  let records: Uint8Array<ArrayBuffer>[] = [];
  let pendingBytes = 0;
  let writtenBytes = 0;
  let recordCount = 0;
  for (const record of file.records()) {
    records.push(record as Uint8Array<ArrayBuffer>);
    pendingBytes += record.length;
    writtenBytes += record.length;
    recordCount++;
    if (pendingBytes > PART_BYTES) {
      parts.push(new Blob(records));
      records = [];
      pendingBytes = 0;
    }
    yield Math.min(1, writtenBytes / expectedBytes);
  }
  const whole = new Blob([file.header(recordCount) as Uint8Array<ArrayBuffer>, ...parts, ...records]);
  return { file: whole, clippedCount: file.clippedCount() };
}

/** About how many bytes will come, for the progress bar only. */
function expectedSize({ scenario, order }: RecordingFileOrder, headerBytes: number): number {
  const samples = beatS(scenario, presentationCount(scenario)) * scenario.converter.sampleRateHz;
  const perSample = { 'edf+': 2, 'bdf+': 3, csv: 14 }[order.format];
  return headerBytes + samples * perSample * (order.withTruth ? 4 : 2);
}
