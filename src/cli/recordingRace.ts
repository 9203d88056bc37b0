import type { AveragingStrategy } from '../core/averaging/strategy.ts';
import { resolveScenario, withOverrides } from '../core/scenario/resolve.ts';
import type { RecordedSignal } from '../core/session/recordingOrder.ts';
import { runRecording } from '../core/session/recordingRun.ts';
import {
  polarityChoices,
  type Recording,
  type StimulusChoice,
  selectChannels,
  selectStimuli,
} from '../formats/index.ts';
import { type ParsedArguments, pairOption, singleOption, UsageError } from './arguments.ts';
import { lanesFrom } from './laneOption.ts';
import { outsideStrategies } from './outside/outsideStrategy.ts';
import { readRecordingFiles } from './recordingFiles.ts';
import { recordingCsv, recordingJson, recordingText } from './recordingReport.ts';

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
  const baseline = singleOption(parsed, 'baseline');
  if (baseline !== undefined && !isBaseline(baseline)) {
    throw new UsageError(`--baseline: must be none, pre-stimulus or linear, got "${baseline}"`);
  }
  const order = {
    windowMs,
    bandHz,
    analysisMs: pairOption('analysis-ms', singleOption(parsed, 'analysis-ms')),
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
  const text = singleOption(parsed, name);
  if (text === undefined) throw new UsageError(`race: --recording needs --${name}`);
  return text;
}

function isBaseline(text: string): text is 'none' | 'pre-stimulus' | 'linear' {
  return text === 'none' || text === 'pre-stimulus' || text === 'linear';
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
  const polarity = singleOption(parsed, 'polarity') ?? 'condensation';
  const known = polarityChoices.find((choice) => choice === polarity);
  if (!known) throw new UsageError(`--polarity: must be ${polarityChoices.join(', ')}, got "${polarity}"`);
  const rarefaction = singleOption(parsed, 'rarefaction');
  return [
    { events: required(parsed, 'events'), polarity: known },
    ...(rarefaction === undefined ? [] : [{ events: rarefaction, polarity: 'rarefaction' as const }]),
  ];
}
