import type { AveragingStrategy } from '../core/averaging/strategy.ts';
import { type DetectionByLevel, type DetectionOrder, detectionByLevel } from '../core/session/detectionByLevel.ts';
import { laneName } from '../core/session/lanes.ts';
import { laneTitles } from './laneOption.ts';
import { withProgress } from './progress.ts';
import { csvTable, orNull, shown, textTable } from './table.ts';

/** Races below and above the patient's threshold and counts verdicts; progress goes to a terminal. */
export function detectionWithProgress(document: object, order: DetectionOrder): DetectionByLevel {
  return withProgress(detectionByLevel(document, order), 'levels');
}

/** The key `detection` of the JSON contract; tests/cli/raceDetection.test.ts holds it. */
export function detectionJson({ thresholdDbNhl, lanes }: DetectionByLevel): object {
  return {
    thresholdDbNhl,
    lanes: lanes.map(({ strategy, matrix }) => ({
      strategy,
      falsePresent: orNull(matrix.falsePresent),
      falseAbsent: orNull(matrix.falseAbsent),
      cannotTell: orNull(matrix.cannotTell),
      rows: matrix.rows,
    })),
  };
}

/** The verdicts as lines of comma-separated values, one for each lane and level, with the given columns in front. */
export function detectionCsv(
  header: readonly string[],
  provenance: readonly (string | number)[],
  { thresholdDbNhl, lanes }: DetectionByLevel,
  outside: readonly AveragingStrategy[],
): string {
  const rows = lanes.flatMap((lane) =>
    lane.matrix.rows.map((row) => [
      ...[...provenance, lane.strategy, laneName(lane, outside), thresholdDbNhl, row.aboveThresholdDb, row.runCount],
      ...[row.presentCount, row.absentCount, row.cannotTellCount, row.wrongShare, row.wrongLow, row.wrongHigh],
    ]),
  );
  const columns = ['strategy', 'name', 'thresholdDbNhl', 'aboveThresholdDb', 'runs', 'present', 'absent', 'cannotTell'];
  return csvTable([[...header, ...columns, 'wrong', 'wrongLow', 'wrongHigh'], ...rows]);
}

/** Present/absent/cannot tell of each lane at each level, and how often that was wrong. */
export function detectionText(
  { thresholdDbNhl, lanes }: DetectionByLevel,
  outside: readonly AveragingStrategy[],
): string {
  const titles = laneTitles(
    lanes,
    lanes.map((lane) => laneName(lane, outside)),
  );
  const levels = lanes[0].matrix.rows.map(({ aboveThresholdDb: db }) => `${db > 0 ? '+' : ''}${db} dB`);
  const percent = (share: number) => (Number.isFinite(share) ? `${shown(100 * share, 0)} %` : '–');
  const rows = lanes.map(({ matrix }, k) => [
    titles[k],
    ...matrix.rows.map((row) => `${row.presentCount}/${row.absentCount}/${row.cannotTellCount}`),
    ...[matrix.falsePresent, matrix.falseAbsent, matrix.cannotTell].map(percent),
  ]);
  return [
    `Detection: present/absent/cannot tell by the 3:1 rule, by level about the true threshold of ${thresholdDbNhl} dB nHL`,
    '',
    textTable([['strategy', ...levels, 'false present', 'false absent', 'cannot tell'], ...rows]),
    '',
    'False present: share of all runs below the threshold, where there is no response. False absent: share of all runs from the',
    'threshold on. The threshold is the lowest whole level at which the noise-free response is there at all, so just above it',
    'nobody could find it. --csv has 95 % intervals for every level.',
  ].join('\n');
}
