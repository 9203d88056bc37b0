import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import type { AveragingStrategy } from '../core/averaging/strategy.ts';
import { resolveScenario, withOverrides } from '../core/scenario/resolve.ts';
import { laneName } from '../core/session/lanes.ts';
import { type RecordedSignal, type RecordingResult, runRecording } from '../core/session/recordingRun.ts';
import {
  type NamedBytes,
  polarityChoices,
  type Recording,
  readRecordings,
  type StimulusChoice,
  selectChannels,
  selectStimuli,
  wfdbFileNames,
} from '../formats/index.ts';
import { numberOption, type OptionKind, type ParsedArguments, pairOption, UsageError } from './arguments.ts';
import { lanesFrom } from './laneOption.ts';
import { outsideStrategies } from './outside/outsideStrategy.ts';
import { csvTable, orNull, shown, textTable } from './table.ts';

export const RECORDING_OPTIONS: Record<string, OptionKind> = {
  recording: 'values',
  events: 'values',
  polarity: 'values',
  rarefaction: 'values',
  channel: 'values',
  'window-ms': 'values',
  'band-hz': 'values',
  'analysis-ms': 'values',
  baseline: 'values',
  'sample-rate-hz': 'values',
  unit: 'values',
  implant: 'values',
  'implant-uv': 'values',
};

export const RECORDING_USAGE = `
on a real recording:
  --recording FILE     delimited text (also .gz), EDF, EDF+, BDF, BDF+ or a WFDB header (.hea); may be repeated:
                       sweeps of all are pooled
  --events SELECT      which instants are stimuli: COLUMN=CODE, annotation=TEXT, status=CODE, or by hand
                       rise=CHANNEL@LEVEL, fall=CHANNEL@LEVEL (µV), every=STEP@FIRST (s); several with commas
  --polarity KIND      of those stimuli: condensation (default), rarefaction or alternating
  --rarefaction SELECT more stimuli, of rarefaction
  --channel NAME       channel, or A-B for a difference; several with commas are run one after the other
  --window-ms A,B      sweep from A to B ms around each event
  --band-hz A,B        zero-phase band-pass
  --analysis-ms A,B    where noise and correlation are measured (default: the window after the event)
  --baseline KIND      none, pre-stimulus or linear (default pre-stimulus where the window begins before the event)
  --sample-rate-hz F   for delimited text without a time column
  --unit U             for delimited text whose columns name no unit (default µV)
  --implant KIND       put a known response into it instead of averaging over its own: truth, noise and gain are told
  --implant-uv X       largest deflection of that response behind the filters, µV (default: as in the model)
  --set averaging...   tunables of the strategies; the rejection limit is 2.5 x the median peak unless set
`;

/** Runs the strategies on real sweeps and prints what is known there. */
export async function raceRecording(parsed: ParsedArguments, version: string): Promise<number> {
  const outside = await outsideStrategies(parsed.values('strategy'));
  try {
    return raceLanes(parsed, version, outside);
  } finally {
    for (const strategy of outside) strategy.close();
  }
}

function raceLanes(parsed: ParsedArguments, version: string, outside: readonly AveragingStrategy[]): number {
  const foreign = ['replicates', 'target-nv', 'seconds'].find((name) => parsed.value(name) !== undefined);
  if (foreign) throw new UsageError(`race: --${foreign} needs a simulated patient, got a recording`);
  if (parsed.positionals.length > 0) {
    throw new UsageError(`race: takes a scenario or a recording, got both (${parsed.positionals[0]})`);
  }
  const windowMs = pairOption('window-ms', required(parsed, 'window-ms'));
  const bandHz = pairOption('band-hz', required(parsed, 'band-hz'));
  if (!windowMs || !bandHz) throw new UsageError('race: --window-ms and --band-hz are needed');
  const assignments = parsed.values('set');
  const other = assignments.find((assignment) => !assignment.startsWith('averaging.'));
  if (other) throw new UsageError(`--set: only averaging.* applies to a recording, got "${other}"`);
  const scenario = resolveScenario(withOverrides({}, assignments));
  const baseline = single(parsed, 'baseline');
  if (baseline !== undefined && !isBaseline(baseline)) {
    throw new UsageError(`--baseline: must be none, pre-stimulus or linear, got "${baseline}"`);
  }
  const order = {
    windowMs,
    bandHz,
    analysisMs: pairOption('analysis-ms', single(parsed, 'analysis-ms')),
    baseline,
    lanes: lanesFrom(parsed.values('lane'), scenario, outside),
    outside,
    automaticThreshold: !assignments.some((text) => text.startsWith('averaging.thresholdRejection.thresholdUv=')),
    seed: parsed.value('seed') ?? '1',
  };
  const recordings = readRecordingFiles(parsed);
  const files = parsed.values('recording');
  const warnings = [
    ...files.filter((file, k) => files.indexOf(file) < k).map((file) => `${file}: given twice, its sweeps count twice`),
    ...recordings.flatMap((recording) => recording.warnings.map((text) => `${recording.name}: ${text}`)),
  ];
  if (!parsed.flag('json')) for (const warning of warnings) process.stderr.write(`warning: ${warning}\n`);

  const stimuli = stimulusChoices(parsed);
  const events = stimuli.map((choice) => choice.events).join(',');
  const channelText = required(parsed, 'channel');
  const channels = selectChannels(recordings[0], channelText).map(({ label }) => label);
  const results = channels.map((channel, k) => {
    const signals = recordings.map((recording) => signalOf(recording, channelText, k, stimuli));
    try {
      return { channel, result: runRecording(signals, order) };
    } catch (error) {
      if (!(error instanceof RangeError)) throw error;
      throw new UsageError(asOption(error.message, channel));
    }
  });
  const report = { version, recordings, events, order, warnings, results };
  if (parsed.flag('json')) process.stdout.write(`${JSON.stringify(recordingJson(report, parsed.flag('curve')))}\n`);
  else if (parsed.flag('csv')) process.stdout.write(`${recordingCsv(report, parsed.flag('curve'))}\n`);
  else process.stdout.write(`${recordingText(report)}\n`);
  return 0;
}

/** Puts the name of the option that the user typed in front of a rule of the core. */
function asOption(message: string, channel: string): string {
  const rule = message.replace(/^runRecording: /, '');
  const options = { 'analysis window': 'analysis-ms', window: 'window-ms', band: 'band-hz', baseline: 'baseline' };
  const name = Object.entries(options).find(([word]) => rule.startsWith(`${word} `));
  return name ? `--${name[1]}: ${rule}` : `channel ${channel}: ${rule}`;
}

function required(parsed: ParsedArguments, name: string): string {
  const text = single(parsed, name);
  if (text === undefined) throw new UsageError(`race: --recording needs --${name}`);
  return text;
}

function single(parsed: ParsedArguments, name: string): string | undefined {
  const values = parsed.values(name);
  if (values.length > 1) throw new UsageError(`--${name}: must be given once, got ${values.length} times`);
  return values[0];
}

function isBaseline(text: string): text is 'none' | 'pre-stimulus' | 'linear' {
  return text === 'none' || text === 'pre-stimulus' || text === 'linear';
}

/** Reads the files of `--recording`, with what the options say where they do not. */
export function readRecordingFiles(parsed: ParsedArguments): Recording[] {
  const options = {
    sampleRateHz: numberOption('sample-rate-hz', single(parsed, 'sample-rate-hz'), 0.01, 1e6),
    unit: single(parsed, 'unit'),
  };
  return parsed.values('recording').map((file) => readFile(file, options));
}

function readFile(file: string, options: { sampleRateHz?: number; unit?: string }): Recording {
  const opened = openFile(file);
  const files = /\.hea$/i.test(file) ? [opened, ...besideHeader(file, opened)] : [opened];
  const [recording] = readRecordings(files, options);
  return recording;
}

function openFile(file: string): NamedBytes {
  try {
    return { name: basename(file), bytes: readFileSync(file) };
  } catch (error) {
    throw new UsageError(`${file}: cannot be read (${(error as NodeJS.ErrnoException).code})`);
  }
}

/** The signal files that a WFDB header names, as far as they are there, and the annotation files of its name. */
function besideHeader(file: string, header: NamedBytes): NamedBytes[] {
  const folder = dirname(file);
  const stem = header.name.replace(/hea$/i, '');
  const annotations = readdirSync(folder).filter(
    (name) => name.startsWith(stem) && /\.(atr|ann|qrs|ari|ecg)$/i.test(name),
  );
  const names = new Set([...wfdbFileNames(header), ...annotations]);
  return [...names].filter((name) => existsSync(join(folder, name))).map((name) => openFile(join(folder, name)));
}

function signalOf(
  recording: Recording,
  channelText: string,
  k: number,
  stimuli: readonly StimulusChoice[],
): RecordedSignal {
  const { samplesUv, sampleRateHz } = selectChannels(recording, channelText)[k];
  return { samplesUv, sampleRateHz, ...selectStimuli(recording, stimuli), missing: recording.missing };
}

/** The events that are stimuli, with their polarity. */
function stimulusChoices(parsed: ParsedArguments): StimulusChoice[] {
  const polarity = single(parsed, 'polarity') ?? 'condensation';
  const known = polarityChoices.find((choice) => choice === polarity);
  if (!known) throw new UsageError(`--polarity: must be ${polarityChoices.join(', ')}, got "${polarity}"`);
  const rarefaction = single(parsed, 'rarefaction');
  return [
    { events: required(parsed, 'events'), polarity: known },
    ...(rarefaction === undefined ? [] : [{ events: rarefaction, polarity: 'rarefaction' as const }]),
  ];
}

interface RecordingReport {
  version: string;
  recordings: readonly Recording[];
  events: string;
  order: {
    windowMs: readonly [number, number];
    bandHz: readonly [number, number];
    seed: string;
    outside: readonly AveragingStrategy[];
  };
  warnings: readonly string[];
  results: readonly { channel: string; result: RecordingResult }[];
}

function recordingJson({ version, recordings, events, order, warnings, results }: RecordingReport, curve: boolean) {
  return {
    version,
    recordings: recordings.map(({ name, format }) => ({ name, format })),
    events,
    windowMs: order.windowMs,
    bandHz: order.bandHz,
    seed: order.seed,
    truthKnown: false,
    warnings,
    channels: results.map(({ channel, result }) => ({
      channel,
      sweepsOffered: result.sweepsOffered,
      eventsSkipped: result.eventsSkipped,
      lanes: result.lanes.map((lane) => ({
        strategy: lane.strategy,
        parameters: lane.parameters,
        ownNoiseNv: orNull(lane.ownNoiseNv),
        splitCorrelation: orNull(lane.splitCorrelation),
        halvesCorrelation: orNull(lane.halvesCorrelation),
        averageNv: orNull(lane.averageNv),
        randomWindowNv: orNull(lane.randomWindowNv),
        sweepsUsed: lane.sweepsUsed,
        effectiveSweeps: lane.effectiveSweeps,
        ...(curve ? { curve: lane.curve.map(([sweeps, nv]) => [sweeps, orNull(nv)]) } : {}),
      })),
    })),
  };
}

function recordingCsv({ version, recordings, events, order, results }: RecordingReport, curve: boolean): string {
  const header = ['version', 'recordings', 'events', 'windowMs', 'bandHz', 'seed', 'channel', 'strategy', 'parameters'];
  const names = recordings.map(({ name }) => name).join(' ');
  const start = [version, names, events, order.windowMs.join(' '), order.bandHz.join(' '), order.seed];
  const lanes = results.flatMap(({ channel, result }) =>
    result.lanes.map((lane) => ({
      lane,
      offered: result.sweepsOffered,
      origin: [...start, channel, lane.strategy, JSON.stringify(lane.parameters)],
    })),
  );
  if (curve) {
    const rows = lanes.flatMap(({ lane, origin }) => lane.curve.map(([sweeps, nv]) => [...origin, sweeps, nv]));
    return csvTable([[...header, 'atSweeps', 'ownNoiseNv'], ...rows]);
  }
  const columns = ['ownNoiseNv', 'splitCorrelation', 'halvesCorrelation', 'averageNv', 'randomWindowNv'];
  const rows = lanes.map(({ lane, offered, origin }) => [
    ...[...origin, lane.ownNoiseNv, lane.splitCorrelation, lane.halvesCorrelation, lane.averageNv],
    ...[lane.randomWindowNv, offered, lane.sweepsUsed, lane.effectiveSweeps],
  ]);
  return csvTable([[...header, ...columns, 'sweepsOffered', 'sweepsUsed', 'effectiveSweeps'], ...rows]);
}

function recordingText({ version, recordings, events, order, results }: RecordingReport): string {
  const names = recordings.map(({ name, format }) => `${name} (${format})`).join(', ');
  const header = [
    'strategy',
    'own claim nV',
    'average nV',
    'random windows nV',
    'split r',
    'halves r',
    'used',
    'effective',
  ];
  const parts = results.map(({ channel, result }) => {
    const rows = result.lanes.map((lane) => {
      const { thresholdUv, blockLength } = lane.parameters;
      const setting = thresholdUv ? ` ±${thresholdUv} µV` : blockLength ? ` of ${blockLength}` : '';
      return [
        laneName(lane, order.outside) + setting,
        shown(lane.ownNoiseNv, 0),
        shown(lane.averageNv, 0),
        shown(lane.randomWindowNv, 0),
        shown(lane.splitCorrelation, 2),
        shown(lane.halvesCorrelation, 2),
        `${lane.sweepsUsed}/${result.sweepsOffered}`,
        shown(lane.effectiveSweeps, 0),
      ];
    });
    const skipped = result.eventsSkipped > 0 ? `, ${result.eventsSkipped} events too near an end or a gap` : '';
    return `Channel ${channel}: ${result.sweepsOffered} sweeps${skipped}\n\n${textTable([header, ...rows])}`;
  });
  return [
    `Sweepwise ${version} · ${names}`,
    `events ${events} · window ${order.windowMs.join(' to ')} ms · band ${order.bandHz.join('–')} Hz · seed ${order.seed}`,
    '',
    parts.join('\n\n'),
    '',
    'The truth is not known here: no true residual noise, no gain. What is known: each claim of its own noise, the',
    'agreement of split buffers (r of the pair; halves r: mean over 40 random halvings), and how large the same average',
    'is at random times, where there is no stimulus.',
  ].join('\n');
}
