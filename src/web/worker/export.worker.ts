import { beatS, presentationCount } from '../../core/stimulus/schedule.ts';
import { sessionFile } from '../../formats/sessionFile.ts';
import type { ExportReply, ExportRequest } from './exportClient.ts';

const REPORT_MS = 100;
const PART_BYTES = 4e6; // many small parts would slow the joining, one large one would need the memory twice

addEventListener('message', ({ data }: MessageEvent<ExportRequest>) => {
  const reply = (message: ExportReply) => postMessage(message);
  try {
    const { scenario, seed, order } = data;
    const file = sessionFile(scenario, seed, order);
    const expectedBytes = expectedSize(data, file.header(-1).length);
    const parts: Blob[] = [];
    let records: Uint8Array<ArrayBuffer>[] = [];
    let pendingBytes = 0;
    let writtenBytes = 0;
    let recordCount = 0;
    let reportedMs = performance.now();
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
      if (performance.now() - reportedMs > REPORT_MS) {
        reportedMs = performance.now();
        reply({ kind: 'progress', fraction: Math.min(1, writtenBytes / expectedBytes) });
      }
    }
    const whole = new Blob([file.header(recordCount) as Uint8Array<ArrayBuffer>, ...parts, ...records]);
    reply({ kind: 'done', file: whole, clippedCount: file.clippedCount() });
  } catch (error) {
    reply({ kind: 'failed', message: error instanceof Error ? error.message : String(error) });
  }
});

/** About how many bytes will come, for the progress bar only. */
function expectedSize({ scenario, order }: ExportRequest, headerBytes: number): number {
  const samples = beatS(scenario, presentationCount(scenario)) * scenario.converter.sampleRateHz;
  const perSample = { 'edf+': 2, 'bdf+': 3, csv: 14 }[order.format];
  return headerBytes + samples * perSample * (order.withTruth ? 4 : 2);
}
