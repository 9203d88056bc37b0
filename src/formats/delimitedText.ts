import { type ColumnName, parseColumnName } from './columnName.ts';
import { fillColumn, findLostSamples } from './lostSamples.ts';
import { type NumberTable, readNumberTable } from './numberTable.ts';
import { microvoltsPerUnit } from './physicalUnit.ts';
import type { ReadRecordingOptions, Recording, RecordingChannel } from './recording.ts';
import { listed, RecordingError } from './recordingError.ts';
import { analyseTimeColumn, type TimeGrid } from './timeColumn.ts';
import { withUniqueLabels } from './uniqueLabels.ts';

/**
 * Reads delimited text (comma, tab, semicolon or spaces): one line per sample, one column per channel.
 *
 * The first line may name the columns; else they are column-1, column-2 and so on. A column named time, timestamps
 * or t, in s or ms, gives the sampling rate; without names the first column does if it rises evenly. Marker columns
 * are kept as channels: `selectEvents` reads their codes.
 *
 * Broken and missing lines: with a time column we know which samples are lost. They are filled with the sample before
 * (which invents no marker code), listed in `missing` and told in a warning, as long as no more than one in a hundred
 * is lost. Without a time column a broken line is refused, since nothing shows how many samples it stood for.
 *
 * @throws {RecordingError} no rate, too much lost, times that do not rise evenly, no column of numbers
 */
export function readDelimitedText(fileName: string, bytes: Uint8Array, options: ReadRecordingOptions): Recording {
  const table = readNumberTable(fileName, bytes);
  const warnings = [...table.warnings];
  const names = nameColumns(fileName, table);
  const timeIndex = findTimeColumn(table, names);
  const signalIndexes = findSignalColumns(fileName, table, names, timeIndex, warnings);

  const grid = findGrid(fileName, table, names, timeIndex, options, warnings);
  const watched = timeIndex === undefined ? signalIndexes : [...signalIndexes, timeIndex];
  const labels = names.map((name) => name.label);
  const lost = findLostSamples(fileName, table, labels, watched, timeIndex !== undefined, grid);
  warnings.push(...lost.warnings);

  const defaultScaleUv = microvoltsPerUnit(options.unit ?? 'µV') ?? 1;
  const channels = signalIndexes.map((c): RecordingChannel => {
    const scaleUv = names[c].scaleUv ?? defaultScaleUv;
    const samplesUv = fillColumn(table.columns[c], lost.isLost, grid.gaps, scaleUv);
    return { label: names[c].label, unit: 'µV', sampleRateHz: grid.sampleRateHz, samplesUv, scaleUv };
  });
  return {
    name: fileName,
    format: 'delimited',
    channels: withUniqueLabels(channels, warnings),
    events: [],
    missing: lost.spans,
    warnings,
  };
}

function nameColumns(fileName: string, table: NumberTable): ColumnName[] {
  const { header, columns, rowCount, raggedCount } = table;
  if (header && raggedCount === rowCount) {
    const broken = table.firstBroken[0];
    const rule = `names do not match the lines of numbers: line ${broken?.line} ${broken?.rule}`;
    throw new RecordingError(fileName, 'columns', rule);
  }
  return columns.map((_, c) => {
    const name = header?.[c];
    return name ? parseColumnName(name) : { label: `column-${c + 1}`, isTime: false };
  });
}

/**
 * The column named as time; without names the first, if it rises in like steps that make sense as seconds (a count
 * of samples does not).
 */
function findTimeColumn(table: NumberTable, names: readonly ColumnName[]): number | undefined {
  const named = names.findIndex((name) => name.isTime);
  if (named >= 0) return named;
  if (table.header || table.columns.length < 2 || table.rowCount < 3) return undefined;
  const times = table.columns[0];
  const meanStep = (times[table.rowCount - 1] - times[0]) / (table.rowCount - 1);
  if (!(meanStep < MILLISECOND_STEP)) return undefined;
  let likeCount = 0;
  for (let row = 1; row < table.rowCount; row++) {
    const step = times[row] - times[row - 1];
    if (step > 0.5 * meanStep && step < 1.5 * meanStep) likeCount++;
  }
  return likeCount >= 0.9 * (table.rowCount - 1) ? 0 : undefined;
}

function findSignalColumns(
  fileName: string,
  table: NumberTable,
  names: readonly ColumnName[],
  timeIndex: number | undefined,
  warnings: string[],
): number[] {
  const indexes = names.flatMap((name, c) => {
    if (c === timeIndex) return [];
    if (!table.columns[c].every(Number.isNaN)) return [c];
    warnings.push(`column ${name.label} holds no numbers and was left out`);
    return [];
  });
  if (indexes.length > 0) return indexes;
  throw new RecordingError(fileName, 'columns', `must include a signal of numbers, got ${labelsOf(names)}`);
}

function labelsOf(names: readonly ColumnName[]): string {
  return listed(names.map((name) => name.label));
}

function findGrid(
  fileName: string,
  table: NumberTable,
  names: readonly ColumnName[],
  timeIndex: number | undefined,
  { sampleRateHz }: ReadRecordingOptions,
  warnings: string[],
): TimeGrid {
  if (timeIndex === undefined) {
    if (sampleRateHz !== undefined) return { sampleRateHz, gaps: [], warnings: [] };
    const rule = `must include time (or timestamps, or t) unless a sampling rate is given, got ${labelsOf(names)}`;
    throw new RecordingError(fileName, 'columns', rule);
  }
  const times = table.columns[timeIndex];
  if (times.every(Number.isNaN)) {
    const broken = table.firstBroken[timeIndex];
    throw new RecordingError(
      fileName,
      `line ${broken?.line}, column ${names[timeIndex].label}`,
      `${broken?.rule} (s or ms)`,
    );
  }
  const secondsPerUnit = names[timeIndex].secondsPerUnit ?? guessSecondsPerUnit(times, warnings);
  const grid = analyseTimeColumn(
    fileName,
    times.map((time) => time * secondsPerUnit),
    table.lineNumbers,
  );
  warnings.push(...grid.warnings);
  if (sampleRateHz === undefined) return grid;
  if (Math.abs(sampleRateHz - grid.sampleRateHz) > RATE_AGREEMENT * grid.sampleRateHz) {
    const rule = `must agree with the time column, which says ${grid.sampleRateHz} Hz, got ${sampleRateHz}`;
    throw new RecordingError(fileName, 'sampling rate', rule);
  }
  return { ...grid, sampleRateHz };
}

const RATE_AGREEMENT = 0.01; // our choice: a wrong clock is off by less, a wrong file by more

const MILLISECOND_STEP = 0.04; // our choice: as seconds it is 25 Hz, as milliseconds 25 kHz: neither is measured at

/** Times whose unit is not named. */
function guessSecondsPerUnit(times: Float64Array, warnings: string[]): number {
  const finite = times.filter((time) => !Number.isNaN(time));
  const meanStep = (finite[finite.length - 1] - finite[0]) / Math.max(1, finite.length - 1);
  if (!(meanStep >= MILLISECOND_STEP)) return 1;
  warnings.push('the time column states no unit; its steps are so large that it is read as milliseconds');
  return 1e-3;
}
