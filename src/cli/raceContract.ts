import { isHollow } from '../core/quality/amplitudeGain.ts';
import { scenarioHash } from '../core/scenario/resolve.ts';
import type { LaneResult } from '../core/session/laneResult.ts';
import { laneName } from '../core/session/lanes.ts';
import { type RaceReport, raceCautions } from './raceReport.ts';
import { csvTable, orNull } from './table.ts';

/** The stable JSON contract of a race; tests/cli/race.test.ts holds it. */
export function raceJson(report: RaceReport, curve: boolean): object {
  const { version, scenario, seed, replicates, outside, result } = report;
  return {
    version,
    scenario: { id: scenario.id, hash: scenarioHash(scenario) },
    seed,
    replicates,
    targetNv: scenario.session.targetNv,
    seconds: scenario.session.durationS,
    lanes: result.lanes.map((lane) => ({
      strategy: lane.strategy,
      parameters: lane.parameters,
      secondsToTarget: lane.secondsToTarget ? lane.secondsToTarget.value : null,
      sweepsToTarget: lane.sweepsToTarget,
      expectedResidualNoiseNv: orNull(lane.expectedResidualNoiseNv.value),
      residualNoiseNv: orNull(lane.residualNoiseNv),
      ownNoiseNv: orNull(lane.ownNoiseNv),
      amplitudeGain: orNull(lane.amplitudeGain.value),
      splitCorrelation: orNull(lane.splitCorrelation),
      sweepsOffered: lane.sweepsOffered,
      sweepsUsed: lane.sweepsUsed,
      effectiveSweeps: lane.effectiveSweeps,
      name: laneName(lane, outside),
      timing: lane.timing,
      flagAware: lane.flagAware ?? false,
      honesty: orNull(lane.honesty),
      regretSeconds: lane.regret && Number.isFinite(lane.regret.lostS) ? lane.regret.lostS : null,
      noiseOverOracle: lane.regret ? orNull(lane.regret.noiseRatio) : null,
      verdicts: lane.verdicts,
      quieterThanPlainDb: lane.efficiency ? orNull(lane.efficiency.noiseDb.value) : null,
      timesFasterThanPlain: lane.efficiency ? orNull(lane.efficiency.timeRatio.value) : null,
      hollow: isHollow(lane.amplitudeGain.value),
      noiseOnlyNv: orNull(lane.parts?.noiseNv ?? NaN),
      biasNv: orNull(lane.parts?.biasNv ?? NaN),
      ...(curve ? { curve: lane.curve.map(({ seconds, noiseNv }) => [seconds, orNull(noiseNv)]) } : {}),
    })),
    oracle: result.oracle && {
      secondsToTarget: result.oracle.secondsToTarget ? result.oracle.secondsToTarget.value : null,
      expectedResidualNoiseNv: orNull(result.oracle.expectedResidualNoiseNv.value),
    },
    cautions: raceCautions(report),
  };
}

/** What the run was: the same columns in front of every table. */
export function provenance({ version, scenario, seed, replicates }: RaceReport): (string | number)[] {
  const { targetNv, durationS } = scenario.session;
  return [version, scenario.id, scenarioHash(scenario), seed, replicates, targetNv, durationS];
}

export const PROVENANCE_HEADER = ['version', 'scenario', 'hash', 'seed', 'replicates', 'targetNv', 'seconds'];

/** A row for each strategy. */
export function raceCsv(report: RaceReport): string {
  const header = [
    ...PROVENANCE_HEADER,
    ...['strategy', 'parameters', 'secondsToTarget', 'secondsToTargetLow', 'secondsToTargetHigh', 'sweepsToTarget'],
    ...['expectedResidualNoiseNv', 'expectedResidualNoiseLowNv', 'expectedResidualNoiseHighNv', 'residualNoiseNv'],
    ...['ownNoiseNv', 'amplitudeGain', 'amplitudeGainLow', 'amplitudeGainHigh', 'splitCorrelation', 'fmp'],
    ...['sweepsOffered', 'sweepsUsed', 'effectiveSweeps', 'name', 'timing', 'flagAware', 'honesty', 'regretSeconds'],
    ...['quieterThanPlainDb', 'timesFasterThanPlain', 'hollow', 'noiseOnlyNv', 'biasNv'],
  ];
  const row = (lane: LaneResult) => {
    const { secondsToTarget: time, expectedResidualNoiseNv: noise, amplitudeGain: gain } = lane;
    return [
      ...provenance(report),
      ...[lane.strategy, JSON.stringify(lane.parameters)],
      ...[time?.value ?? null, time?.low ?? null, time?.high ?? null, lane.sweepsToTarget],
      ...[noise.value, noise.low, noise.high, lane.residualNoiseNv, lane.ownNoiseNv],
      ...[gain.value, gain.low, gain.high, lane.splitCorrelation, lane.fmp],
      ...[lane.sweepsOffered, lane.sweepsUsed, lane.effectiveSweeps, laneName(lane, report.outside), lane.timing],
      ...[String(lane.flagAware ?? false), lane.honesty, lane.regret?.lostS ?? null],
      ...[lane.efficiency?.noiseDb.value ?? null, lane.efficiency?.timeRatio.value ?? null],
      ...[String(isHollow(gain.value)), lane.parts?.noiseNv ?? null, lane.parts?.biasNv ?? null],
    ];
  };
  return csvTable([header, ...report.result.lanes.map(row)]);
}

/** Residual noise against seconds, a row for each strategy and checkpoint. */
export function curveCsv(report: RaceReport): string {
  const header = [...PROVENANCE_HEADER, 'strategy', 'atSeconds', 'residualNoiseNv', 'ownNoiseNv', 'name'];
  const rows = report.result.lanes.flatMap((lane) =>
    lane.curve.map((point) => [
      ...[...provenance(report), lane.strategy, point.seconds, point.noiseNv, point.ownNoiseNv],
      laneName(lane, report.outside),
    ]),
  );
  return csvTable([header, ...rows]);
}
