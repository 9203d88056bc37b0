import { RecordingError } from './recordingError.ts';

/** What a column of times says about the rows. */
export interface TimeGrid {
  readonly sampleRateHz: number;
  /** Places where rows are missing, by row. */
  readonly gaps: readonly { readonly beforeRow: number; readonly sampleCount: number }[];
  readonly warnings: readonly string[];
}

/**
 * Finds the sampling rate and the missing rows behind a column of times.
 *
 * Real columns are rarely even: they are rounded, and equipment that sends samples in packets stamps a packet's
 * samples too early or late, even backward. Such jitter passes, a lost row does not: all times after it are shifted.
 * So where all steps near it are whole periods, a long step is a gap; else it is one only if the median of the times
 * around it, less an even grid, moves too. Times with late packets therefore hide losses shorter than the lateness.
 * Samples are taken to be evenly spaced; where the times cannot tell the rate from a whole number of hertz, it is
 * that number.
 *
 * @param timesS - seconds; NaN where the cell is broken
 * @param lineNumbers - the line of each row, for messages
 * @throws {RecordingError} if the times do not rise, step back for good, or the rate changes
 * @example analyseTimeColumn('a.csv', Float64Array.of(0, 0.5, 1, 2, 2.5), Float64Array.of(1, 2, 3, 4, 5))
 * // sampleRateHz 2, gaps [{ beforeRow: 3, sampleCount: 1 }]
 */
export function analyseTimeColumn(fileName: string, timesS: Float64Array, lineNumbers: Float64Array): TimeGrid {
  const rowCount = timesS.length;
  const fail = (row: number, rule: string): never => {
    throw new RecordingError(fileName, `line ${lineNumbers[row]}, time column`, rule);
  };
  if (rowCount < 2) fail(0, `must be followed by another time, got ${rowCount} row`);

  const roughPeriodS = findRoughPeriod(timesS);
  if (!(roughPeriodS > 0)) fail(0, `times must rise from row to row, got ${timesS[0]} s to ${timesS[rowCount - 1]} s`);

  // The rest of each time when an even grid is taken away; gaps are taken away as they are found.
  const restS = new Float64Array(rowCount);
  const gaps: { beforeRow: number; sampleCount: number }[] = [];
  let missingCount = 0;
  let segmentStart = 0;
  const filledS = fillBroken(timesS, roughPeriodS);
  const unevenStepsBefore = countUnevenSteps(filledS, roughPeriodS);
  for (let row = 0; row < rowCount; row++) restS[row] = filledS[row] - row * roughPeriodS;
  for (let row = 1; row < rowCount; row++) {
    const stepS = filledS[row] - filledS[row - 1];
    if (stepS < -BACKWARD_S) fail(row, `times must rise, got ${filledS[row]} s after ${filledS[row - 1]} s`);
    if (Math.abs(stepS - roughPeriodS) <= JUMP_PERIODS * roughPeriodS) continue;
    const nearStart = Math.max(0, row - BLOCK_ROWS);
    const nearEnd = Math.min(rowCount, row + BLOCK_ROWS);
    const isEvenNearby = unevenStepsBefore[nearEnd] === unevenStepsBefore[nearStart];
    const shiftS = isEvenNearby ? stepS - roughPeriodS : persistentShift(restS, segmentStart, row, roughPeriodS);
    if (shiftS === 0) continue;
    if (shiftS < 0) fail(row, `times must rise, got ${filledS[row]} s after ${filledS[row - 1]} s`);
    const sampleCount = Math.max(1, Math.round(shiftS / roughPeriodS));
    gaps.push({ beforeRow: row, sampleCount });
    missingCount += sampleCount;
    segmentStart = row;
  }
  let filledCount = 0;
  let nextGap = 0;
  for (let row = 0; row < rowCount; row++) {
    if (gaps[nextGap]?.beforeRow === row) filledCount += gaps[nextGap++].sampleCount;
    restS[row] -= filledCount * roughPeriodS;
  }

  const gridCount = rowCount + missingCount;
  const fit = fitGrid(restS, roughPeriodS, gridCount);
  const { periodS, jitterS, bendS, firstHalfPeriodS, secondHalfPeriodS } = fit;
  if (Math.abs(bendS) > Math.max(BEND_SHARE * gridCount * periodS, SHIFT_SPREADS * fit.blockSpreadS, periodS)) {
    const halves = `${rounded(1 / firstHalfPeriodS)} Hz in the first half and ${rounded(1 / secondHalfPeriodS)} Hz in the second`;
    fail(0, `sampling rate must be constant and no line missing, got ${halves}`);
  }
  const warnings: string[] = [];
  const sampleRateHz = snapToWhole(1 / periodS, (2 * jitterS) / (gridCount * periodS));
  if (jitterS > periodS) {
    const offMs = rounded(jitterS * 1000);
    const spacing = `samples are taken as evenly spaced at ${rounded(sampleRateHz)} Hz`;
    warnings.push(`the time column is uneven (1 time in 100 is off by ${offMs} ms or more); ${spacing}`);
  }
  return { sampleRateHz, gaps, warnings };
}

const BACKWARD_S = 0.25; // our choice: late packets step back by tens of ms, rows out of order by more
const JUMP_PERIODS = 0.5; // a step off by half a period or more may hide a lost row
const EVEN_PERIODS = 0.3; // our choice: lets times be rounded to a third of a period
const SHIFT_PERIODS = 0.75; // our choice: under a whole row, above half of one
const SHIFT_SPREADS = 3; // our choice: three times what nine times in ten stay within is no jitter
const BLOCK_ROWS = 96; // our choice: eight packets of twelve, about the largest sent
const BEND_SHARE = 0.0025; // our choice: rates 1 % apart in the two halves bend the grid by this much

/** Median seconds per row, over spans short enough that few of them hold a gap. */
function findRoughPeriod(timesS: Float64Array): number {
  const span = Math.max(1, Math.min(256, Math.floor(timesS.length / 10)));
  const stride = Math.max(1, Math.floor(timesS.length / 10000)); // ten thousand spans settle a median
  const periods: number[] = [];
  for (let row = 0; row + span < timesS.length; row += stride) {
    const periodS = (timesS[row + span] - timesS[row]) / span;
    if (!Number.isNaN(periodS)) periods.push(periodS);
  }
  return median(periods);
}

/** Broken times in their place: one period after the time before. */
function fillBroken(timesS: Float64Array, periodS: number): Float64Array {
  const filledS = timesS.slice();
  const firstGood = timesS.findIndex((timeS) => !Number.isNaN(timeS));
  for (let row = firstGood - 1; row >= 0; row--) filledS[row] = filledS[row + 1] - periodS;
  for (let row = firstGood + 1; row < filledS.length; row++) {
    if (Number.isNaN(filledS[row])) filledS[row] = filledS[row - 1] + periodS;
  }
  return filledS;
}

/** How many steps before each row are no whole number of periods, so that any range of rows is one subtraction. */
function countUnevenSteps(timesS: Float64Array, periodS: number): Float64Array {
  const counts = new Float64Array(timesS.length + 1);
  for (let row = 1; row <= timesS.length; row++) {
    const periods = (timesS[row] - timesS[row - 1]) / periodS; // NaN after the last row, which is not uneven
    const isUneven = periods < 0.5 || Math.abs(periods - Math.round(periods)) > EVEN_PERIODS;
    counts[row] = counts[row - 1] + (isUneven ? 1 : 0);
  }
  return counts;
}

/** How far the times after a row stay shifted against those before it, s; 0 if not beyond their own spread. */
function persistentShift(restS: Float64Array, segmentStart: number, row: number, periodS: number): number {
  const before = restS.subarray(Math.max(segmentStart, row - BLOCK_ROWS), row);
  const after = restS.subarray(row, row + BLOCK_ROWS);
  const shiftS = median(after) - median(before);
  const spreadS = Math.max(spread(before), spread(after));
  return Math.abs(shiftS) > Math.max(SHIFT_PERIODS * periodS, SHIFT_SPREADS * spreadS) ? shiftS : 0;
}

/** Fits the even grid through medians of the first, middle and last rows, so that single wild times do not count. */
function fitGrid(restS: Float64Array, roughPeriodS: number, gridCount: number) {
  const rowCount = restS.length;
  const block = Math.max(1, Math.min(BLOCK_ROWS, Math.floor(rowCount / 4)));
  const middle = Math.floor((rowCount - block) / 2);
  const firstS = median(restS.subarray(0, block));
  const middleS = median(restS.subarray(middle, middle + block));
  const lastS = median(restS.subarray(rowCount - block));
  const distance = Math.max(1, gridCount - block);
  const driftS = (lastS - firstS) / distance;
  const periodS = roughPeriodS + driftS;
  const errors: number[] = [];
  const stride = Math.max(1, Math.floor(rowCount / 10000));
  for (let row = 0; row < rowCount; row += stride) {
    errors.push(Math.abs(restS[row] - firstS - (row - (block - 1) / 2) * driftS));
  }
  errors.sort((a, b) => a - b);
  return {
    periodS,
    jitterS: errors[Math.floor(0.99 * (errors.length - 1))],
    bendS: middleS - (firstS + lastS) / 2,
    blockSpreadS: Math.max(
      spread(restS.subarray(0, block)),
      spread(restS.subarray(middle, middle + block)),
      spread(restS.subarray(rowCount - block)),
    ),
    firstHalfPeriodS: roughPeriodS + (middleS - firstS) / Math.max(1, middle),
    secondHalfPeriodS: roughPeriodS + (lastS - middleS) / Math.max(1, rowCount - block - middle),
  };
}

/** The nearest whole number if it lies within the relative tolerance, else the rate itself. */
function snapToWhole(rateHz: number, relativeTolerance: number): number {
  const whole = Math.round(rateHz);
  // Times written as decimals are off by rounding in the last binary place at least.
  return whole > 0 && Math.abs(rateHz - whole) <= rateHz * Math.max(relativeTolerance, 1e-6) ? whole : rateHz;
}

function median(values: ArrayLike<number>): number {
  const sorted = Float64Array.from(values).sort();
  const middle = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[middle] : (sorted[middle - 1] + sorted[middle]) / 2;
}

/** What nine in ten of the values stay within, around their median. */
function spread(values: Float64Array): number {
  const centre = median(values);
  const sorted = values.map((value) => Math.abs(value - centre)).sort();
  return sorted[Math.floor(0.9 * (sorted.length - 1))];
}

function rounded(value: number): number {
  return Number(value.toPrecision(4));
}
