import { changesResponse, GAIN_BOUNDS } from '../core/quality/amplitudeGain.ts';
import { FMP_PRESENT } from '../core/quality/fmp.ts';
import { cautionsFor } from '../core/scenario/cautions.ts';
import { plausibilityWarnings } from '../core/scenario/plausibility.ts';
import { DEFAULT_PRESET } from '../core/scenario/presets.ts';
import { resolveScenario, scenarioHash, withOverrides } from '../core/scenario/resolve.ts';
import type { Scenario } from '../core/scenario/schema.ts';
import { TRUTH_LABELS } from '../core/session/chosenTruth.ts';
import { laneName } from '../core/session/lanes.ts';
import { type LaneResult, type RaceResult, race } from '../core/session/race.ts';
import { numberOption, type ParsedArguments, parseArguments, UsageError } from './arguments.ts';
import { ledgerCsv, ledgerJson, ledgersWithProgress, ledgerText } from './raceLedger.ts';
import { RECORDING_OPTIONS, RECORDING_USAGE, raceRecording } from './recordingRace.ts';
import { scenarioDocument } from './scenarioArgument.ts';
import { csvTable, orNull, shown, textTable } from './table.ts';

const USAGE = `usage: sweepwise race [SCENARIO] [options]

SCENARIO is a name from "sweepwise scenarios", a YAML or JSON file, or - for standard input (default ${DEFAULT_PRESET}).

  --seed TEXT          session seed: same scenario + seed = same bits (default 1)
  --replicates K       patients with the same settings; expected values are over all of them (default 8)
  --target-nv X        residual noise at which a strategy has arrived, nV (default: the scenario's session.targetNv)
  --seconds S          stimulation time, s (default: the scenario's session.durationS)
  --set PATH=VALUE     override one key of the scenario; may be repeated
  --json               one JSON object
  --csv                comma-separated values, with intervals and provenance in every row
  --curve              add residual noise against seconds for each strategy
  --ledger             take the error apart: how much of it is the response changed, each source, the clipping
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
    mute: 'values',
    help: 'flag',
    ...RECORDING_OPTIONS,
  });
  if (parsed.flag('help')) {
    process.stdout.write(USAGE);
    return 0;
  }
  if (parsed.flag('json') && parsed.flag('csv')) throw new UsageError('race: takes --json or --csv, got both');
  if (parsed.flag('csv') && parsed.flag('curve') && parsed.flag('ledger')) {
    throw new UsageError('race: --csv takes --curve or --ledger, got both');
  }
  if (parsed.values('recording').length > 0) return raceRecording(parsed, version);
  const stray = Object.keys(RECORDING_OPTIONS).find((name) => parsed.values(name).length > 0);
  if (stray) throw new UsageError(`race: --${stray} needs --recording FILE`);

  const scenario = scenarioFrom(parsed);
  const seed = parsed.value('seed') ?? '1';
  const replicates = numberOption('replicates', parsed.value('replicates'), 1, 10000, true) ?? 8;
  for (const { path, rule, value } of plausibilityWarnings(scenario)) {
    process.stderr.write(`unusual: ${oneLine(`${path}: ${rule}, got ${value}`)}\n`);
  }
  const result = await raceWithProgress(scenario, seed, replicates);
  const report = { version, scenario, seed, replicates, result };
  const curve = parsed.flag('curve');
  const ledgers = parsed.flag('ledger') ? ledgersWithProgress(scenario, seed, result.lanes) : null;
  if (parsed.flag('json')) {
    const json = { ...raceJson(report, curve), ...(ledgers ? { ledger: ledgerJson(ledgers) } : {}) };
    process.stdout.write(`${JSON.stringify(json)}\n`);
  } else if (parsed.flag('csv')) {
    const table = curve ? curveCsv(report) : raceCsv(report);
    process.stdout.write(`${ledgers ? ledgerCsv(PROVENANCE_HEADER, provenance(report), ledgers) : table}\n`);
  } else {
    const parts = [
      raceText(report),
      ...(ledgers ? ['', ledgerText(ledgers)] : []),
      ...(curve ? [curveText(report)] : []),
    ];
    process.stdout.write(`${parts.join('\n')}\n`);
  }
  return 0;
}

interface RaceReport {
  version: string;
  scenario: Scenario;
  seed: string;
  replicates: number;
  result: RaceResult;
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

async function raceWithProgress(scenario: Scenario, seed: string, replicates: number): Promise<RaceResult> {
  const steps = race(scenario, { seed, replicates, targetNv: scenario.session.targetNv });
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
function raceJson({ version, scenario, seed, replicates, result }: RaceReport, curve: boolean): object {
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
      ...(curve ? { curve: lane.curve.map(({ seconds, noiseNv }) => [seconds, orNull(noiseNv)]) } : {}),
    })),
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
    ...['sweepsOffered', 'sweepsUsed', 'effectiveSweeps'],
  ];
  const row = (lane: LaneResult) => {
    const { secondsToTarget: time, expectedResidualNoiseNv: noise, amplitudeGain: gain } = lane;
    return [
      ...provenance(report),
      ...[lane.strategy, JSON.stringify(lane.parameters)],
      ...[time?.value ?? null, time?.low ?? null, time?.high ?? null, lane.sweepsToTarget],
      ...[noise.value, noise.low, noise.high, lane.residualNoiseNv, lane.ownNoiseNv],
      ...[gain.value, gain.low, gain.high, lane.splitCorrelation, lane.fmp],
      ...[lane.sweepsOffered, lane.sweepsUsed, lane.effectiveSweeps],
    ];
  };
  return csvTable([header, ...report.result.lanes.map(row)]);
}

function curveCsv(report: RaceReport): string {
  const header = [...PROVENANCE_HEADER, 'strategy', 'atSeconds', 'residualNoiseNv', 'ownNoiseNv'];
  const rows = report.result.lanes.flatMap((lane) =>
    lane.curve.map((point) => [...provenance(report), lane.strategy, point.seconds, point.noiseNv, point.ownNoiseNv]),
  );
  return csvTable([header, ...rows]);
}

function raceText(report: RaceReport): string {
  const { version, scenario, seed, replicates, result } = report;
  const { durationS, targetNv } = scenario.session;
  const patients = replicates === 1 ? '1 patient' : `${replicates} patients`;
  const header = [
    'strategy',
    `s to ${targetNv} nV`,
    'interval',
    'sweeps',
    'noise nV',
    'interval',
    'own claim',
    'gain',
    'split r',
    'Fmp',
    'used',
    'effective',
  ];
  const rows = result.lanes.map((lane) => {
    const { secondsToTarget: time, expectedResidualNoiseNv: noise } = lane;
    return [
      laneName(lane),
      time ? shown(time.value, 1) : 'never',
      time && !Number.isNaN(time.low)
        ? `${shown(time.low, 0)}–${Number.isFinite(time.high) ? shown(time.high, 0) : 'never'}`
        : '–',
      lane.sweepsToTarget === null ? '–' : String(lane.sweepsToTarget),
      shown(noise.value, 1),
      Number.isNaN(noise.low) ? '–' : `${shown(noise.low, 1)}–${shown(noise.high, 1)}`,
      shown(lane.ownNoiseNv, 1),
      gainText(lane),
      shown(lane.splitCorrelation, 2),
      shown(lane.fmp, 1),
      `${lane.sweepsUsed}/${lane.sweepsOffered}`,
      shown(lane.effectiveSweeps, 0),
    ];
  });
  const hollow = result.lanes.some((lane) => changesResponse(lane.amplitudeGain));
  return [
    `Sweepwise ${version} · ${oneLine(scenario.title)} (${scenario.id}, ${scenarioHash(scenario)}) · seed ${seed} · ${patients} · ${durationS} s`,
    ...(scenario.story ? [oneLine(scenario.story)] : []),
    '',
    textTable([header, ...rows]),
    '',
    `Truth: ${TRUTH_LABELS[scenario.measures.truth]}.`,
    'Noise: true residual noise, nV rms over the analysis window, at the end; intervals: 95 % over replicate patients.',
    `Fmp: average against own noise claim; above ${FMP_PRESENT.toFixed(2)} a response is called present (99 %, one look).`,
    ...(replicates < 3
      ? ['One run scatters by about 20 %: use --replicates 8 or more before you believe a ranking.']
      : []),
    ...(hollow
      ? [`* gain outside ${GAIN_BOUNDS.join('–')} beyond chance: the response is changed, so low noise does not count.`]
      : []),
    'Teaching simulation: model values, not normative, not for clinical decisions.',
    ...cautionsFor(scenario),
  ].join('\n');
}

/** Text from a file, without the control characters that would move the cursor or colour the terminal. */
function oneLine(text: string): string {
  return text.replace(/\p{Cc}+/gu, ' ').trim();
}

function gainText({ amplitudeGain }: LaneResult): string {
  return `${shown(amplitudeGain.value, 3)}${changesResponse(amplitudeGain) ? '*' : ''}`;
}

function curveText({ result }: RaceReport): string {
  const header = ['seconds', ...result.lanes.map((lane) => lane.strategy)];
  const { curve } = result.lanes[0];
  const rows = curve.map((point, j) => [
    point.seconds.toFixed(2),
    ...result.lanes.map((lane) => shown(lane.curve[j].noiseNv, 1)),
  ]);
  return textTable([header, ...rows]);
}
