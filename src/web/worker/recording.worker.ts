import { implantRun, implantScenario } from '../../core/session/implant.ts';
import { runRecording } from '../../core/session/recordingRun.ts';
import { eventChoices, type Recording, readRecordings, selectChannels, selectStimuli } from '../../formats/index.ts';
import type { RecordingReply, RecordingRequest } from './recordingClient.ts';

let recordings: Recording[] = [];

addEventListener('message', ({ data }: MessageEvent<RecordingRequest>) => {
  const reply = (message: RecordingReply) => postMessage(message);
  try {
    if (data.kind === 'read') reply({ kind: 'read', contents: read(data) });
    else if (data.kind === 'run') reply({ kind: 'ran', result: run(data) });
    else reply({ kind: 'implanted', result: implant(data) });
  } catch (error) {
    reply({ kind: 'failed', message: error instanceof Error ? error.message : String(error) });
  }
});

function read({ files, options }: RecordingRequest & { kind: 'read' }) {
  recordings = readRecordings(files, options);
  const [first] = recordings;
  const choices = recordings.map(eventChoices);
  return {
    names: recordings.map(({ name, format }) => `${name} (${format})`),
    warnings: recordings.flatMap(({ name, warnings }) => warnings.map((warning) => `${name}: ${warning}`)),
    channels: first.channels.map(({ label, unit, sampleRateHz: rateHz, samplesUv }) => ({
      label,
      unit,
      sampleRateHz: rateHz,
      durationS: samplesUv.length / rateHz,
    })),
    // Events that every file has, counted over all of them.
    events: choices[0].flatMap(({ selector }) => {
      const counts = choices.map((list) => list.find((choice) => choice.selector === selector)?.eventCount ?? 0);
      return counts.includes(0) ? [] : [{ selector, eventCount: counts.reduce((sum, count) => sum + count, 0) }];
    }),
  };
}

/** The one channel that was picked, of each recording. */
function signalsOf(channel: string) {
  return recordings.map((recording) => {
    const picked = selectChannels(recording, channel);
    if (picked.length !== 1) throw new RangeError(`channel: must be one channel, got ${picked.length}`);
    const [{ samplesUv, sampleRateHz }] = picked;
    return { recording, samplesUv, sampleRateHz, missing: recording.missing };
  });
}

function implant({ channel, order, seed, lanes }: RecordingRequest & { kind: 'implant' }) {
  const backgrounds = signalsOf(channel);
  const steps = implantRun(backgrounds, implantScenario(backgrounds, order), seed, lanes);
  let step = steps.next();
  while (!step.done) step = steps.next();
  return step.value;
}

function run({ channel, stimuli, order }: RecordingRequest & { kind: 'run' }) {
  const signals = signalsOf(channel).map(({ recording, ...signal }) => ({
    ...signal,
    ...selectStimuli(recording, stimuli),
  }));
  return { ...runRecording(signals, order), sweepsUv: [] }; // the page shows averages; raw sweeps stay here
}
