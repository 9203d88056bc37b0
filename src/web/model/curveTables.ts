import { csvTable } from '../../formats/csvTable.ts';
import type { Bench } from './bench.ts';
import { laneLetters } from './narration.ts';
import { provenanceLine, STANDING_LINE } from './provenance.ts';

/** A curve of the bench as a table. */
export interface CurveTable {
  /** Part of file names: never renamed. */
  id: string;
  label: string;
  /** Rows with a header; empty while there is nothing to tell. */
  rows(bench: Bench): (string | number | null)[][];
}

/** Everything on the bench that can be taken away as numbers. What is sealed stays sealed. */
export const curveTables: readonly CurveTable[] = [
  {
    id: 'averages',
    label: 'Averages of all lanes',
    rows(bench) {
      const { record, scenario, truthSealed } = bench;
      const header = ['timeMs', ...record.lanes.map((_, lane) => `${laneName(bench, lane)} (µV)`)];
      const step = 1000 / scenario.converter.sampleRateHz;
      const rows = Array.from({ length: record.samplesPerSweep }, (_, i) => [
        (i - record.preSampleCount) * step,
        ...record.lanes.map(({ averageUv }) => averageUv[i]),
        ...(truthSealed ? [] : [record.truthUv[i]]),
      ]);
      return [[...header, ...(truthSealed ? [] : ['truth (µV)'])], ...rows];
    },
  },
  {
    id: 'noise',
    label: 'Race: noise against seconds',
    rows(bench) {
      const { record, truthSealed } = bench;
      const names = record.lanes.map((_, lane) => laneName(bench, lane));
      const header = ['seconds', 'sweeps', ...names.map((name) => `${name} own claim (nV)`)];
      const truth = truthSealed ? [] : names.map((name) => `${name} residual noise (nV)`);
      const rows = record.checkpoints.map(({ seconds, sweeps, lanes }) => [
        ...[seconds, sweeps, ...lanes.map(({ ownNoiseUv }) => 1000 * ownNoiseUv)],
        ...(truthSealed ? [] : lanes.map(({ residualNoiseUv }) => 1000 * residualNoiseUv)),
      ]);
      return [[...header, ...truth], ...rows];
    },
  },
  {
    id: 'weights',
    label: 'Weights of all sweeps',
    rows(bench) {
      const { record } = bench;
      const names = record.lanes.map((_, lane) => laneName(bench, lane));
      const header = ['sweep', 'timeS', 'polarity', 'peakUv', 'overRange'];
      const columns = names.flatMap((name) => [`${name} weight`, `${name} reason`]);
      const rows = Array.from({ length: record.offeredCount }, (_, k) => [
        ...[
          k + 1,
          record.timeS[k],
          record.polarity[k],
          record.peakUv[k],
          Number(record.isOverRange(k, record.channel)),
        ],
        ...names.flatMap((_name, lane) => [record.normalisedWeight(lane, k), record.verdict(lane, k).reason]),
      ]);
      return [[...header, ...columns], ...rows];
    },
  },
  {
    id: 'sweep',
    label: 'The sweep looked at',
    rows(bench) {
      const { record, scenario, shownSweep } = bench;
      const ipsilateral = record.rawSweep(shownSweep, 0);
      const contralateral = record.rawSweep(shownSweep, 1);
      if (!ipsilateral || !contralateral) return [];
      const step = 1000 / scenario.converter.sampleRateHz;
      const rows = Array.from(ipsilateral, (uv, i) => [(i - record.preSampleCount) * step, uv, contralateral[i]]);
      return [['timeMs', `sweep ${shownSweep + 1} ipsilateral (µV)`, 'contralateral (µV)'], ...rows];
    },
  },
];

/** A table as text, with what a reader needs to make the same run again. @throws {RangeError} if it is empty */
export function curveCsv(table: CurveTable, bench: Bench): string {
  const rows = table.rows(bench);
  if (rows.length < 2) throw new RangeError(`curveCsv: ${table.label} must hold a sweep, got none yet`);
  return `# ${provenanceLine(bench).replace(/\s+/g, ' ')}\n# ${STANDING_LINE}\n${csvTable(rows)}\n`;
}

function laneName(bench: Bench, lane: number): string {
  return `${laneLetters[lane]} ${bench.record.lanes[lane].strategy}`;
}
