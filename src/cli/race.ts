// Longer than usual: the options of one command, and the JSON and CSV contracts that answer to them, are read together.
import { isHollow } from '../core/quality/amplitudeGain.ts';
import { plausibilityWarnings } from '../core/scenario/plausibility.ts';
import { DEFAULT_PRESET } from '../core/scenario/presets.ts';
import { resolveScenario, scenarioHash, withOverrides } from '../core/scenario/resolve.ts';
import type { Scenario } from '../core/scenario/schema.ts';
import { type BreakdownAxis, breakdownAxes } from '../core/session/breakdownCurves.ts';
import { explainSweep } from '../core/session/explainSweep.ts';
import { laneName } from '../core/session/lanes.ts';
import { type LaneResult, type RaceOrder, type RaceResult, race } from '../core/session/race.ts';
import { presentationCount } from '../core/stimulus/schedule.ts';
import { numberOption, type ParsedArguments, parseArguments, UsageError } from './arguments.ts';
import { type ImplantedRace, openImplant } from './implantRace.ts';
import { lanesFrom } from './laneOption.ts';
import { type OutsideStrategy, outsideStrategies } from './outside/outsideStrategy.ts';
import { ledgerCsv, ledgerJson, ledgersWithProgress, ledgerText } from './raceLedger.ts';
import {
  breakdownJson,
  breakdownText,
  breakdownWithProgress,
  qualityJson,
  qualityText,
  qualityWithProgress,
} from './raceQuality.ts';
import { type RaceReadings, readingCsv, readingJson, readingsWithProgress, readingText } from './raceReading.ts';
import { curveText, explanationText, oneLine, type RaceReport, raceCautions, raceText } from './raceReport.ts';
import { RECORDING_OPTIONS, RECORDING_USAGE, raceRecording } from './recordingRace.ts';
import { scenarioDocument } from './scenarioArgument.ts';
import { csvTable, orNull } from './table.ts';

const USAGE = `usage: sweepwise race [SCENARIO] [options]

SCENARIO is a name from "sweepwise scenarios", a YAML or JSON file, or - for standard input (default ${DEFAULT_PRESET}).

  --seed TEXT          session seed: same scenario + seed = same bits (default 1)
  --replicates K       patients with the same settings; expected values are over all of them (default 8)
  --target-nv X        residual noise at which a strategy has arrived, nV (default: the scenario's session.targetNv)
  --seconds S          stimulation time, s (default: the scenario's session.durationS)
  --set PATH=VALUE     override one key of the scenario; may be repeated
  --lane 'ID KEY=VALUE ... as NAME'
                       who races, instead of the scenario's lanes; may be repeated ("sweepwise strategies" lists them);
                       flagAware=true keeps flagged sweeps from it
  --strategy FILE      a strategy of your own, as a TypeScript or JavaScript module (src/core/averaging/OWN_STRATEGY.md); may be repeated
  --explain SWEEP      say why each strategy weighted sweep number SWEEP (from 0) of the seed's own run as it did
  --json               one JSON object
  --csv                comma-separated values, with intervals and provenance in every row; cautions on standard error
  --curve              add residual noise against seconds for each strategy
  --ledger             take the error apart: how much of it is the response changed, each source, the clipping
  --read               read every average: peaks, intervals and ratios with their uncertainty, beside the truth, and tests
                       for a response by sign flips and Hotelling's T²
  --quality            judge weights and averages: noise by plus-minus, likeness of neighbours, SNR, false rejection and
                       acceptance, when stopping rules would have stopped, what ten looks cost
  --breakdown AXIS     race at rising levels of what breaks a strategy, and say where it does: ${breakdownAxes.map(({ id }) => id).join(', ')}
  --mute SOURCE        leave a source of noise out, all others as they were to the bit; may be repeated
${RECORDING_USAGE}`;

/** Races the strategies on a simulated patient, or runs them on a real recording. */
export async function raceCommand(words: string[], version: string): Promise<number> {
  const parsed = parseArguments(words, {
    seed: 'value',
    replicates: 'value',
    'target-nv': 'value',
    seconds: 'value',
    set: 'values',
    json: 'flag',
    csv: 'flag',
    curve: 'flag',
    ledger: 'flag',
    read: 'flag',
    quality: 'flag',
    breakdown: 'value',
    mute: 'values',
    lane: 'values',
    strategy: 'values',
    explain: 'value',
    help: 'flag',
    ...RECORDING_OPTIONS,
  });
  if (parsed.flag('help')) {
    process.stdout.write(USAGE);
    return 0;
  }
  if (parsed.flag('json') && parsed.flag('csv')) throw new UsageError('race: takes --json or --csv, got both');
  const tables = ['curve', 'ledger', 'read'].filter((name) => parsed.flag(name)).map((name) => `--${name}`);
  if (parsed.flag('csv') && tables.length > 1) {
    throw new UsageError(`race: --csv takes one of --curve, --ledger and --read, got ${tables.join(' and ')}`);
  }
  const isImplant = parsed.values('implant').length > 0;
  if (parsed.values('implant-uv').length > 0 && !isImplant) throw new UsageError('race: --implant-uv needs --implant');
  if (parsed.values('recording').length > 0 && !isImplant) return await raceRecording(parsed, version);
  const stray = Object.keys(RECORDING_OPTIONS).find((name) => parsed.values(name).length > 0);
  if (stray && parsed.values('recording').length === 0) throw new UsageError(`race: --${stray} needs --recording FILE`);
  const foreign = ['ledger', 'quality', 'breakdown', 'explain', 'mute'].find(
    (name) => parsed.flag(name) || parsed.values(name).length > 0,
  );
  if (isImplant && foreign) throw new UsageError(`race: --${foreign} needs simulated noise, got --implant`);

  const implant = isImplant ? openImplant(parsed) : null;
  const scenario = implant?.scenario ?? scenarioFrom(parsed);
  const seed = parsed.value('seed') ?? '1';
  const replicates = numberOption('replicates', parsed.value('replicates'), 1, 10000, true) ?? 8;
  for (const { path, rule, value } of plausibilityWarnings(scenario)) {
    process.stderr.write(`unusual: ${oneLine(`${path}: ${rule}, got ${value}`)}\n`);
  }
  const sweepCount = presentationCount(scenario);
  const explained = numberOption('explain', parsed.value('explain'), 0, sweepCount - 1, true);
  if (explained !== undefined && parsed.flag('csv')) throw new UsageError('race: --explain takes no --csv');
  const axisId = parsed.value('breakdown');
  const axis = breakdownAxes.find(({ id }) => id === axisId) ?? null;
  if (axisId !== undefined && !axis) {
    const choices = breakdownAxes.map(({ id }) => id).join(', ');
    throw new UsageError(`--breakdown: must be one of ${choices}, got "${axisId}"`);
  }
  if (axis && parsed.values('strategy').length > 0) throw new UsageError('race: --breakdown takes no --strategy');
  if (parsed.flag('csv') && (axis || parsed.flag('quality'))) {
    throw new UsageError('race: --quality and --breakdown take no --csv');
  }
  const outside = await outsideStrategies(parsed.values('strategy'));
  try {
    return await raceLanes(parsed, version, scenario, { seed, replicates, outside, explained, implant, axis });
  } finally {
    for (const strategy of outside) strategy.close();
  }
}

/** Races the lanes of a command line and prints what it asks for. */
async function raceLanes(
  parsed: ParsedArguments,
  version: string,
  scenario: Scenario,
  { seed, replicates, outside, explained, implant, axis }: RaceSetting,
): Promise<number> {
  const lanes = lanesFrom(parsed.values('lane'), scenario, outside);
  const { targetNv } = scenario.session;
  const order = { seed, replicates, targetNv, lanes, outside, oracle: true, background: implant?.background };
  const result = await raceWithProgress(scenario, order);
  const report = { version, scenario, seed, replicates, outside, result, isImplant: implant !== null };
  const curve = parsed.flag('curve');
  const ledgers = parsed.flag('ledger') ? ledgersWithProgress(scenario, seed, lanes, outside) : null;
  const readings = parsed.flag('read') ? readingsWithProgress(scenario, seed, lanes, outside) : null;
  const quality = parsed.flag('quality') ? qualityWithProgress(scenario, seed, lanes, outside) : null;
  const broken = axis ? breakdownWithProgress(scenario, axis, { seed, replicates, lanes }) : null;
  const explanation = explained === undefined ? null : explainSweep(scenario, seed, lanes, explained, outside);
  if (parsed.flag('json')) {
    const json = {
      ...raceJson(report, curve),
      ...(ledgers ? { ledger: ledgerJson(ledgers) } : {}),
      ...(readings ? { reading: readingJson(readings) } : {}),
      ...(quality ? { quality: qualityJson(quality) } : {}),
      ...(axis && broken ? { breakdown: breakdownJson(axis, broken) } : {}),
      ...(explanation ? { explanation } : {}),
    };
    process.stdout.write(`${JSON.stringify(json)}\n`);
  } else if (parsed.flag('csv')) {
    // A line in between would not be a row; beside the table it is read and does not end in somebody's data.
    for (const sentence of raceCautions(report)) process.stderr.write(`caution: ${sentence}\n`);
    process.stdout.write(`${csvOf(report, curve, ledgers, readings)}\n`);
  } else {
    const parts = [
      raceText(report),
      ...(explanation ? ['', explanationText(report, explanation)] : []),
      ...(readings ? ['', readingText(scenario, readings, outside)] : []),
      ...(ledgers ? ['', ledgerText(ledgers, outside)] : []),
      ...(quality ? ['', qualityText(scenario, quality, outside)] : []),
      ...(axis && broken ? ['', breakdownText(axis, broken)] : []),
      ...(curve ? [curveText(report)] : []),
    ];
    process.stdout.write(`${parts.join('\n')}\n`);
  }
  return 0;
}

/** The one table that a line of comma-separated values belongs to. */
function csvOf(
  report: RaceReport,
  curve: boolean,
  ledgers: Parameters<typeof ledgerCsv>[2] | null,
  readings: RaceReadings | null,
): string {
  if (ledgers) return ledgerCsv(PROVENANCE_HEADER, provenance(report), ledgers);
  if (readings) return readingCsv(PROVENANCE_HEADER, provenance(report), readings);
  return curve ? curveCsv(report) : raceCsv(report);
}

interface RaceSetting {
  seed: string;
  replicates: number;
  outside: readonly OutsideStrategy[];
  explained: number | undefined;
  implant: ImplantedRace | null;
  axis: BreakdownAxis | null;
}

function scenarioFrom(parsed: ParsedArguments): Scenario {
  const [name = DEFAULT_PRESET, ...more] = parsed.positionals;
  if (more.length > 0) throw new UsageError(`race: takes one scenario, got ${parsed.positionals.join(' ')}`);
  const seconds = numberOption('seconds', parsed.value('seconds'), 1, 7200);
  const targetNv = numberOption('target-nv', parsed.value('target-nv'), 1, 100000);
  const assignments = [
    ...parsed.values('set'),
    ...(seconds === undefined ? [] : [`session.durationS=${seconds}`]),
    ...(targetNv === undefined ? [] : [`session.targetNv=${targetNv}`]),
  ];
  const document = withOverrides(scenarioDocument(name), assignments);
  const scenario = resolveScenario(document);
  const muted = parsed.values('mute').flatMap((names) => names.split(',').map((source) => source.trim()));
  if (muted.length === 0) return scenario;
  const mute = [...new Set([...scenario.session.mute, ...muted])];
  return resolveScenario(withOverrides(document, [`session.mute=${JSON.stringify(mute)}`]));
}

async function raceWithProgress(scenario: Scenario, order: RaceOrder): Promise<RaceResult> {
  const { replicates } = order;
  const steps = race(scenario, order);
  const toTerminal = process.stderr.isTTY === true;
  const started = performance.now();
  let shownAt = started + 500; // short work stays silent
  for (;;) {
    const step = steps.next();
    if (step.done) {
      if (toTerminal) process.stderr.write('\r\x1b[K');
      return step.value;
    }
    const now = performance.now();
    if (!toTerminal || now < shownAt) continue;
    shownAt = now + 100;
    const { fraction, replicate } = step.value;
    const left = ((now - started) / 1000 / fraction) * (1 - fraction);
    const percent = (100 * fraction).toFixed(0);
    process.stderr.write(`\r\x1b[Kpatient ${replicate + 1} of ${replicates}, ${percent} %, ${left.toFixed(0)} s left`);
  }
}

/** The stable JSON contract of a race; tests/cli/race.test.ts holds it. */
function raceJson(report: RaceReport, curve: boolean): object {
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
      ...(curve ? { curve: lane.curve.map(({ seconds, noiseNv }) => [seconds, orNull(noiseNv)]) } : {}),
    })),
    oracle: result.oracle && {
      secondsToTarget: result.oracle.secondsToTarget ? result.oracle.secondsToTarget.value : null,
      expectedResidualNoiseNv: orNull(result.oracle.expectedResidualNoiseNv.value),
    },
    cautions: raceCautions(report),
  };
}

function provenance({ version, scenario, seed, replicates }: RaceReport): (string | number)[] {
  const { targetNv, durationS } = scenario.session;
  return [version, scenario.id, scenarioHash(scenario), seed, replicates, targetNv, durationS];
}

const PROVENANCE_HEADER = ['version', 'scenario', 'hash', 'seed', 'replicates', 'targetNv', 'seconds'];

function raceCsv(report: RaceReport): string {
  const header = [
    ...PROVENANCE_HEADER,
    ...['strategy', 'parameters', 'secondsToTarget', 'secondsToTargetLow', 'secondsToTargetHigh', 'sweepsToTarget'],
    ...['expectedResidualNoiseNv', 'expectedResidualNoiseLowNv', 'expectedResidualNoiseHighNv', 'residualNoiseNv'],
    ...['ownNoiseNv', 'amplitudeGain', 'amplitudeGainLow', 'amplitudeGainHigh', 'splitCorrelation', 'fmp'],
    ...['sweepsOffered', 'sweepsUsed', 'effectiveSweeps', 'name', 'timing', 'flagAware', 'honesty', 'regretSeconds'],
    ...['quieterThanPlainDb', 'timesFasterThanPlain', 'hollow'],
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
      String(isHollow(gain.value)),
    ];
  };
  return csvTable([header, ...report.result.lanes.map(row)]);
}

function curveCsv(report: RaceReport): string {
  const header = [...PROVENANCE_HEADER, 'strategy', 'atSeconds', 'residualNoiseNv', 'ownNoiseNv', 'name'];
  const rows = report.result.lanes.flatMap((lane) =>
    lane.curve.map((point) => [
      ...[...provenance(report), lane.strategy, point.seconds, point.noiseNv, point.ownNoiseNv],
      laneName(lane, report.outside),
    ]),
  );
  return csvTable([header, ...rows]);
}
