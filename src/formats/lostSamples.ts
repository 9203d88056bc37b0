import type { NumberTable } from './numberTable.ts';
import type { MissingSpan } from './recording.ts';
import { RecordingError } from './recordingError.ts';
import type { TimeGrid } from './timeColumn.ts';

/** The samples of a text recording that are not known. */
export interface LostSamples {
  /** 1 for each row whose line is broken. */
  readonly isLost: Uint8Array;
  /** Broken and absent rows together, on the even grid. */
  readonly spans: readonly MissingSpan[];
  readonly warnings: readonly string[];
}

const MAXIMUM_LOST_SHARE = 0.01; // our choice: more than one sample in a hundred lost is another recording

/**
 * Finds the rows that are broken or absent, and decides whether the recording can be read without them.
 *
 * @param watched - indexes of the columns that count: signals and time
 * @throws {RecordingError} naming the first broken line, if more than one sample in a hundred is lost, or any without
 *   a time column
 */
export function findLostSamples(
  fileName: string,
  table: NumberTable,
  labels: readonly string[],
  watched: readonly number[],
  hasTimeColumn: boolean,
  grid: TimeGrid,
): LostSamples {
  const isLost = new Uint8Array(table.rowCount);
  for (const c of watched) {
    const column = table.columns[c];
    for (let row = 0; row < column.length; row++) if (Number.isNaN(column[row])) isLost[row] = 1;
  }
  if (!hasTimeColumn && table.blankLineCount > 0) {
    const rule = `must have no blank lines between samples unless it has a time column, got ${table.blankLineCount}`;
    throw new RecordingError(fileName, 'text', rule);
  }
  const brokenCount = isLost.reduce((count, lost) => count + lost, 0);
  const absentCount = grid.gaps.reduce((count, gap) => count + gap.sampleCount, 0);
  const first = firstComplaint(table, labels, watched, grid);
  if (!first) return { isLost, spans: [], warnings: [] };

  const lostCount = brokenCount + absentCount;
  const sampleCount = table.rowCount + absentCount;
  const counts = `of ${sampleCount} samples ${brokenCount} are broken and ${absentCount} absent`;
  if (!hasTimeColumn || lostCount > MAXIMUM_LOST_SHARE * sampleCount) {
    const reason = hasTimeColumn ? 'more than 1 in 100' : 'their time is not known without a time column';
    throw new RecordingError(fileName, first.place, `${first.rule} (${counts}: ${reason})`);
  }
  const warning = `${first.place}: ${first.rule} (${counts}: filled in and marked as missing)`;
  return { isLost, spans: spansOf(isLost, grid), warnings: [warning] };
}

/** The first broken cell or gap in the order of lines. */
function firstComplaint(
  table: NumberTable,
  labels: readonly string[],
  watched: readonly number[],
  grid: TimeGrid,
): { place: string; rule: string } | undefined {
  const complaints = watched.flatMap((c) => {
    const broken = table.firstBroken[c];
    return broken ? [{ line: broken.line, place: `line ${broken.line} (${labels[c]})`, rule: broken.rule }] : [];
  });
  const gap = grid.gaps[0];
  if (gap) {
    const line = table.lineNumbers[gap.beforeRow];
    const rule = `must follow the line before it in time, but between them ${samples(gap.sampleCount)} missing`;
    complaints.push({ line, place: `line ${line}`, rule });
  }
  return complaints.sort((a, b) => a.line - b.line)[0];
}

function spansOf(isLost: Uint8Array, { gaps, sampleRateHz }: TimeGrid): MissingSpan[] {
  const spans: { startS: number; endS: number }[] = [];
  const mark = (start: number, sampleCount: number): void => {
    const startS = start / sampleRateHz;
    const endS = (start + sampleCount) / sampleRateHz;
    const last = spans[spans.length - 1];
    if (last && last.endS === startS) last.endS = endS;
    else spans.push({ startS, endS });
  };
  let sample = 0;
  let nextGap = 0;
  for (let row = 0; row < isLost.length; row++, sample++) {
    const gap = gaps[nextGap];
    if (gap?.beforeRow === row) {
      mark(sample, gap.sampleCount);
      sample += gap.sampleCount;
      nextGap++;
    }
    if (isLost[row]) mark(sample, 1);
  }
  return spans;
}

/** The column on the even grid, in µV: lost samples hold the one before them (the first ones the one after). */
export function fillColumn(
  column: Float64Array,
  isLost: Uint8Array,
  gaps: TimeGrid['gaps'],
  scaleUv: number,
): Float64Array {
  const absentCount = gaps.reduce((count, gap) => count + gap.sampleCount, 0);
  const samplesUv = new Float64Array(column.length + absentCount);
  const firstGood = column.findIndex((value, row) => !isLost[row] && !Number.isNaN(value));
  let heldUv = (firstGood < 0 ? 0 : column[firstGood]) * scaleUv;
  let sample = 0;
  let nextGap = 0;
  for (let row = 0; row < column.length; row++) {
    const gap = gaps[nextGap];
    if (gap?.beforeRow === row) {
      samplesUv.fill(heldUv, sample, sample + gap.sampleCount);
      sample += gap.sampleCount;
      nextGap++;
    }
    if (!isLost[row]) heldUv = column[row] * scaleUv;
    samplesUv[sample++] = heldUv;
  }
  return samplesUv;
}

function samples(count: number): string {
  return count === 1 ? '1 sample is' : `${count} samples are`;
}
