import { plausibilityWarnings } from '../core/scenario/plausibility.ts';
import { DEFAULT_PRESET } from '../core/scenario/presets.ts';
import { resolveScenario, withOverrides } from '../core/scenario/resolve.ts';
import type { Scenario } from '../core/scenario/schema.ts';
import { type BreakdownAxis, breakdownAxes } from '../core/session/breakdownCurves.ts';
import { explainSweep } from '../core/session/explainSweep.ts';
import { type RaceOrder, type RaceResult, race } from '../core/session/race.ts';
import { presentationCount } from '../core/stimulus/schedule.ts';
import { numberOption, type ParsedArguments, parseArguments, UsageError } from './arguments.ts';
import type { ImplantedRace } from './implantRace.ts';
import { lanesFrom } from './laneOption.ts';
import type { OutsideStrategy } from './outside/outsideStrategy.ts';
import { breakdownCsv, breakdownJson, breakdownText, breakdownWithProgress } from './raceBreakdown.ts';
import { curveCsv, PROVENANCE_HEADER, provenance, raceCsv, raceJson } from './raceContract.ts';
import { detectionCsv, detectionJson, detectionText, detectionWithProgress } from './raceDetection.ts';
import { ledgerCsv, ledgerJson, ledgersWithProgress, ledgerText } from './raceLedger.ts';
import { qualityCsv, qualityJson, qualityText, qualityWithProgress } from './raceQuality.ts';
import { readingCsv, readingJson, readingsWithProgress, readingText } from './raceReading.ts';
import { curveText, explanationText, oneLine, raceCautions, raceText } from './raceReport.ts';
import { RECORDING_OPTIONS, RECORDING_USAGE } from './recordingOptions.ts';
import { scenarioDocument } from './scenarioArgument.ts';

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
  --strategy FILE      a strategy of your own, as a TypeScript or JavaScript module (src/core/averaging/OWN_STRATEGY.md); may be
                       repeated; a second or two of its contract is tried first, and a caution names what is broken
                       ("sweepwise strategies check FILE" tries all of it)
  --explain SWEEP      say why each strategy weighted sweep number SWEEP (from 0) of the seed's own run as it did
  --json               one JSON object
  --csv                comma-separated values, with intervals and provenance in every row; cautions on standard error;
                       takes one of --curve, --ledger, --read, --quality, --breakdown and --detection
  --curve              add residual noise against seconds for each strategy
  --ledger             take the error apart: how much of it is the response changed, each source, the clipping
  --read               read every average: peaks, intervals and ratios with their uncertainty, beside the truth, and tests
                       for a response, Fsp, Fmp, split r, 3:1 and Hotelling's T²; minutes where an average has to be
                       made 99 times over from turned sweeps (all but those that "groups" stands beside)
  --quality            judge weights and averages: noise by plus-minus, noise and bias apart, likeness of neighbours, SNR,
                       false rejection and acceptance, when stopping rules would have stopped, what ten looks cost
  --detection          race below and above the patient's threshold: how often the 3:1 rule says present, absent or
                       cannot tell, and how often that is wrong; threshold by bracket and by logistic fit, and for clicks
                       how wave V moves with level and of which pattern that is
  --breakdown AXIS     race at rising levels of what breaks a strategy, and say where it does: ${breakdownAxes.map(({ id }) => id).join(', ')}
  --mute SOURCE        leave a source of noise out, all others as they were to the bit; may be repeated
${RECORDING_USAGE}`;

/** Options that add a table; comma-separated values hold one. */
const TABLES = ['curve', 'ledger', 'read', 'quality', 'breakdown', 'detection'] as const;
const SIMULATED_ONLY = ['ledger', 'quality', 'breakdown', 'detection', 'explain', 'mute'] as const;

function asked(parsed: ParsedArguments, name: string): boolean {
  return parsed.flag(name) || parsed.values(name).length > 0;
}

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
    detection: 'flag',
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
  const tables = TABLES.filter((name) => asked(parsed, name)).map((name) => `--${name}`);
  if (parsed.flag('csv') && tables.length > 1) {
    const all = TABLES.map((name) => `--${name}`).join(', ');
    throw new UsageError(`race: --csv takes one of ${all}, got ${tables.join(' and ')}`);
  }
  const isImplant = parsed.values('implant').length > 0;
  if (parsed.values('implant-uv').length > 0 && !isImplant) throw new UsageError('race: --implant-uv needs --implant');
  const isRecording = parsed.values('recording').length > 0 && !isImplant;
  const stray = Object.keys(RECORDING_OPTIONS).find((name) => parsed.values(name).length > 0);
  if (stray && parsed.values('recording').length === 0) throw new UsageError(`race: --${stray} needs --recording FILE`);
  const foreign = SIMULATED_ONLY.find((name) => asked(parsed, name));
  if (isImplant && foreign) throw new UsageError(`race: --${foreign} needs simulated noise, got --implant`);
  if (isRecording) {
    const known = foreign ?? (parsed.flag('read') ? 'read' : undefined);
    if (known) throw new UsageError(`race: --${known} needs a known response, got a recording without --implant`);
    const { raceRecording } = await import('./recordingRace.ts'); // readers of files are loaded when they are wanted
    return await raceRecording(parsed, version);
  }

  const implant = isImplant ? (await import('./implantRace.ts')).openImplant(parsed) : null;
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
  const files = parsed.values('strategy');
  const outside = files.length > 0 ? await (await import('./outside/outsideStrategy.ts')).outsideStrategies(files) : [];
  try {
    const setting = { seed, replicates, outside, explained, implant, axis };
    lanesFrom(parsed.values('lane'), scenario, outside); // refused before anything takes its time
    const contract =
      files.length > 0 ? await (await import('./outside/contractCautions.ts')).contractCautions(files) : [];
    return await raceLanes(parsed, version, scenario, { ...setting, contract });
  } finally {
    for (const strategy of outside) strategy.close();
  }
}

/** Races the lanes of a command line and prints what it asks for. */
async function raceLanes(
  parsed: ParsedArguments,
  version: string,
  scenario: Scenario,
  { seed, replicates, outside, explained, implant, axis, contract }: RaceSetting,
): Promise<number> {
  const lanes = lanesFrom(parsed.values('lane'), scenario, outside);
  const { targetNv } = scenario.session;
  const order = { seed, replicates, targetNv, lanes, outside, oracle: true, background: implant?.background };
  const result = await raceWithProgress(scenario, order);
  const report = { version, scenario, seed, replicates, outside, result, isImplant: implant !== null, contract };
  const explanation = explained === undefined ? null : explainSweep(scenario, seed, lanes, explained, outside);
  const start = [PROVENANCE_HEADER, provenance(report)] as const;
  const parts: Part[] = [];
  if (parsed.flag('read')) {
    const readings = readingsWithProgress(scenario, seed, lanes, outside, implant?.background);
    parts.push({
      json: () => ({ reading: readingJson(readings) }),
      csv: () => readingCsv(...start, readings),
      text: () => readingText(scenario, readings, outside),
    });
  }
  if (parsed.flag('ledger')) {
    const ledgers = ledgersWithProgress(scenario, seed, lanes, outside);
    parts.push({
      json: () => ({ ledger: ledgerJson(ledgers) }),
      csv: () => ledgerCsv(...start, ledgers),
      text: () => ledgerText(ledgers, outside),
    });
  }
  if (parsed.flag('quality')) {
    const quality = qualityWithProgress(scenario, seed, lanes, outside, result.lanes);
    parts.push({
      json: () => qualityJson(quality),
      csv: () => qualityCsv(...start, quality, outside),
      text: () => qualityText(scenario, quality, outside),
    });
  }
  if (axis) {
    const broken = breakdownWithProgress(scenario, axis, { seed, replicates, lanes, outside });
    parts.push({
      json: () => ({ breakdown: breakdownJson(broken) }),
      csv: () => breakdownCsv(...start, broken, outside),
      text: () => breakdownText(broken, outside),
    });
  }
  if (parsed.flag('detection')) {
    const detection = detectionWithProgress(scenario, { seed, replicates, lanes, outside });
    parts.push({
      json: () => ({ detection: detectionJson(detection) }),
      csv: () => detectionCsv(...start, detection, outside),
      text: () => detectionText(detection, outside),
    });
  }
  const curve = parsed.flag('curve');
  if (parsed.flag('json')) {
    const json = Object.assign(
      raceJson(report, curve),
      ...parts.map((part) => part.json()),
      explanation && { explanation },
    );
    process.stdout.write(`${JSON.stringify(json)}\n`);
  } else if (parsed.flag('csv')) {
    // A line in between would not be a row; beside the table it is read and does not end in somebody's data.
    for (const sentence of raceCautions(report)) process.stderr.write(`caution: ${sentence}\n`);
    const [table = { csv: () => (curve ? curveCsv(report) : raceCsv(report)) }] = parts;
    process.stdout.write(`${table.csv()}\n`);
  } else {
    const texts = [raceText(report), ...(explanation ? [explanationText(report, explanation)] : [])];
    texts.push(...parts.map((part) => part.text()));
    process.stdout.write(`${texts.join('\n\n')}\n${curve ? `${curveText(report)}\n` : ''}`);
  }
  return 0;
}

/** What an option adds to the answer, in each of its forms. */
interface Part {
  json(): object;
  csv(): string;
  text(): string;
}

interface RaceSetting {
  seed: string;
  replicates: number;
  outside: readonly OutsideStrategy[];
  explained: number | undefined;
  implant: ImplantedRace | null;
  axis: BreakdownAxis | null;
  contract: readonly string[];
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
