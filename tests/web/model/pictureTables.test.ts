import { describe, expect, it } from 'vitest';
import { averagesTable, beltTable, benchTables, cellText, readableRows } from '../../../src/web/model/pictureTables.ts';
import { finishedBench } from './finishedBench.ts';

const bench = finishedBench({ session: { durationS: 4 } });

describe('pictures as tables', () => {
  it('keeps short tables whole, and of long ones forty rows from the first to the last', () => {
    expect(readableRows([1, 2, 3])).toEqual([1, 2, 3]);
    const rows = readableRows(Array.from({ length: 1000 }, (_, k) => k));
    expect(rows).toHaveLength(40);
    expect([rows[0], rows[39]]).toEqual([0, 999]);
    const steps = rows.slice(1).map((row, k) => row - rows[k]);
    for (const step of steps) expect(Math.abs(step - 999 / 39)).toBeLessThan(1);
  });

  it('tells counts in full, other numbers with four digits, and what is not known with a dash', () => {
    expect([12345, 12.3456, -0.00123456, NaN, null, undefined, 'V'].map(cellText)).toEqual([
      ...['12345', '12.35', '−0.001235', '–', '–', '–', 'V'],
    ]);
  });

  it('lists the sweeps that are on the belt, also while it fills', () => {
    const { offeredCount, timeS } = bench.record;
    const [, ...rows] = beltTable(bench, offeredCount - 12, 12).rows();
    expect(rows.map(([sweep]) => sweep)).toEqual(Array.from({ length: 12 }, (_, k) => offeredCount - 11 + k));
    expect(rows[0][1]).toBe(timeS[offeredCount - 12]);
    expect(beltTable(bench, -9, 12).rows()).toHaveLength(1 + 3);
    expect(benchTables('sweep', 'noise').map(({ id }) => id)).toEqual(['noise', 'sweep']);
  });

  it('gives the averages of a recording with the truth only where it is known', () => {
    const lanes = [Float64Array.of(1, 2), Float64Array.of(3, 4)];
    expect(averagesTable('Averages', lanes, null, -10, 500).rows()).toEqual([
      ['timeMs', 'A (µV)', 'B (µV)'],
      [-10, 1, 3],
      [-8, 2, 4],
    ]);
    expect(averagesTable('Averages', lanes, Float64Array.of(5, 6), -10, 500).rows()[2]).toEqual([-8, 2, 4, 6]);
  });
});
