import type { Bench } from './bench.ts';
import { type CurveTable, curveTables } from './curveTables.ts';
import { laneLetters } from './narration.ts';
import { tickText } from './numberText.ts';

const MOST_ROWS = 40; // our choice: what can be read through; the CSV has the rest

/** The numbers of a picture, to be read on the page. */
export interface PictureTable {
  /** What a picture names in `data-tables`. */
  id: string;
  label: string;
  /** Rows with a header; empty while there is nothing to tell. */
  rows(): (string | number | null)[][];
}

/** Rows for reading: all of a short table, of a long one evenly spaced ones with the first and the last. */
export function readableRows<Row>(rows: readonly Row[], most = MOST_ROWS): Row[] {
  if (rows.length <= most) return [...rows];
  return Array.from({ length: most }, (_, k) => rows[Math.round((k * (rows.length - 1)) / (most - 1))]);
}

/** A cell in words: counts in full, other numbers with four digits, a dash for what cannot be told. */
export function cellText(cell: string | number | null | undefined): string {
  if (typeof cell === 'string') return cell;
  if (cell === null || cell === undefined || !Number.isFinite(cell)) return '–';
  return tickText(Number.isInteger(cell) ? cell : Number(cell.toPrecision(4)));
}

/** Tables as they stand on this bench. */
export function tablesOn(bench: Bench, tables: readonly CurveTable[]): PictureTable[] {
  return tables.map(({ id, label, rows }) => ({ id, label, rows: () => rows(bench) }));
}

/** Tables that the bench always has, by id. */
export function benchTables(...ids: readonly string[]): CurveTable[] {
  return curveTables.filter(({ id }) => ids.includes(id));
}

/** The sweeps on the belt and what each lane did with them. @param from - the leftmost; negative while the belt fills */
export function beltTable(bench: Bench, from: number, count: number): PictureTable {
  return {
    id: 'belt',
    label: 'Sweeps on the belt',
    rows() {
      const [weights] = benchTables('weights');
      const [header, ...rows] = weights.rows(bench);
      return [header, ...rows.slice(Math.max(0, from), Math.max(0, from + count))];
    },
  };
}

/** Averages of lanes over the window, with the truth where it is known. */
export function averagesTable(
  label: string,
  averagesUv: readonly Float64Array[],
  truthUv: Float64Array | null,
  firstSampleMs: number,
  sampleRateHz: number,
): PictureTable {
  return {
    id: 'recording-averages',
    label,
    rows: () => [
      ['timeMs', ...averagesUv.map((_, lane) => `${laneLetters[lane]} (µV)`), ...(truthUv ? ['truth (µV)'] : [])],
      ...Array.from(averagesUv[0] ?? [], (_, i) => [
        firstSampleMs + (1000 * i) / sampleRateHz,
        ...averagesUv.map((uv) => uv[i]),
        ...(truthUv ? [truthUv[i]] : []),
      ]),
    ],
  };
}
