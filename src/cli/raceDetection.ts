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
    lanes: lanes.map(({ strategy, matrix, bracket, logistic, latency }) => ({
      strategy,
      bracketDbNhl: orNull(bracket.midpointDb),
      bracketHalfWidthDb: orNull(bracket.uncertaintyDb),
      contradictory: bracket.contradictory,
      logisticDbNhl: orNull(logistic.thresholdDb),
      logisticSdDb: orNull(logistic.thresholdSdDb),
      latency: latency && {
        slopes: latency.fit.slopes.map(({ name, unit, value, sd }) => ({
          name,
          unit,
          value: orNull(value),
          sd: orNull(sd),
        })),
        patterns: latency.patterns,
      },
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
      ...[lane.bracket.midpointDb, lane.logistic.thresholdDb, lane.logistic.thresholdSdDb],
    ]),
  );
  const columns = ['strategy', 'name', 'thresholdDbNhl', 'aboveThresholdDb', 'runs', 'present', 'absent', 'cannotTell'];
  return csvTable([
    [...header, ...columns, 'wrong', 'wrongLow', 'wrongHigh', 'bracketDbNhl', 'logisticDbNhl', 'logisticSdDb'],
    ...rows,
  ]);
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
  const estimates = lanes.map(({ bracket, logistic, latency }, k) => {
    const slopes = latency?.fit.slopes ?? [];
    const [likeliest] = Object.entries(latency?.patterns ?? {}).sort(([, a], [, b]) => b - a);
    return [
      titles[k],
      Number.isFinite(bracket.midpointDb)
        ? `${shown(bracket.midpointDb, 0)} ± ${shown(bracket.uncertaintyDb, 0)}${bracket.contradictory ? ' ?' : ''}`
        : 'open',
      `${shown(logistic.thresholdDb, 1)} ± ${shown(logistic.thresholdSdDb, 1)}`,
      ...[0, 1].map((j) => (slopes[j] ? `${shown(slopes[j].value, 0)} ± ${shown(slopes[j].sd, 0)}` : '–')),
      likeliest ? `${likeliest[0].replace('-', ' ')} ${percent(likeliest[1])}` : '–',
    ];
  });
  return [
    `Detection: present/absent/cannot tell by the 3:1 rule, by level about the true threshold of ${thresholdDbNhl} dB nHL`,
    '',
    textTable([['strategy', ...levels, 'false present', 'false absent', 'cannot tell'], ...rows]),
    '',
    textTable([
      ['strategy', 'bracket, dB nHL', 'logistic, dB nHL', '85–65, µs/dB', '65–45, µs/dB', 'pattern of wave V'],
      ...estimates,
    ]),
    '',
    'False present: share of all runs below the threshold, where there is no response. False absent: share of all runs from the',
    'threshold on. The threshold is the lowest whole level at which the noise-free response is there at all, so just above it',
    'nobody could find it. --csv has 95 % intervals for every level. Bracket: half way between the lowest level with a majority',
    'for present and the highest without; ? contradicts itself. Logistic: where a curve through the shares of present is at half.',
    "Click only, the seed's own run: how steeply wave V comes earlier with level, and the likeliest of four patterns.",
  ].join('\n');
}
