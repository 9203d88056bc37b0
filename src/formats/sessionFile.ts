import { scenarioHash, scenarioStages } from '../core/scenario/resolve.ts';
import type { Scenario } from '../core/scenario/schema.ts';
import { continuousRecording, type OverRangeSpan } from '../core/session/continuousRecording.ts';
import { LEAD_IN_S } from '../core/stimulus/schedule.ts';
import { annotationByteCount, type EdfWriter, edfWriter, type WrittenAnnotation } from './edfWriter.ts';

/** What to write of a run. */
export interface SessionFileOrder {
  format: 'edf+' | 'bdf+' | 'csv';
  /** Adds the noise-free response of each channel as two more signals. */
  withTruth: boolean;
  /** Version of the program, for the file's header. */
  version: string;
}

/** A recording on its way into a file, so that no length of session fills the memory. */
export interface SessionFile {
  /** The start of the file; pass -1 for the count while the rest is not written yet. */
  header(recordCount: number): Uint8Array;
  /** What follows, in order; each entry is one data record, or one piece of text. */
  records(): Generator<Uint8Array, void>;
  /** Samples so far that the file could not hold at their size. */
  clippedCount(): number;
}

/**
 * Writes the recording of one run as EDF+, BDF+ or delimited text, with everything that happened in it.
 *
 * Signals are the recording behind amplifier, converter and digital filters. Annotations (or columns) tell each
 * stimulus with its polarity, each event, and the stretches during which the converter was over-range; two stretches
 * closer than a data record are told as one. EDF+ has 16 bits over twice the amplifier's range, for the overshoot of
 * filters; BDF+ has 24.
 *
 * @throws {RangeError} for a sampling rate that the format cannot hold
 * @example sessionFile(scenario, '1', { format: 'edf+', withTruth: false, version: '0.1.0' }).header(-1).length // 1024
 */
export function sessionFile(scenario: Scenario, seed: string, order: SessionFileOrder): SessionFile {
  return order.format === 'csv' ? tableFile(scenario, seed, order) : edfFile(scenario, seed, order, order.format);
}

const CHANNELS = ['ipsi', 'contra'] as const;

function edfFile(scenario: Scenario, seed: string, order: SessionFileOrder, format: 'edf+' | 'bdf+'): SessionFile {
  const { sampleRateHz } = scenario.converter;
  const limitUv = 2 * Math.max(...scenarioStages(scenario).map(({ scenario: { amplifier } }) => amplifier.rangeUv));
  const kind = /vemp/.test(scenario.response.kind) ? 'EMG' : 'EEG';
  const signal = (label: string) => ({
    label,
    transducer: 'simulated electrode',
    prefiltering: filterText(scenario),
    limitUv,
  });
  const description = {
    format,
    sampleRateHz,
    signals: [
      ...CHANNELS.map((channel) => signal(`${kind} ${channel}`)),
      ...(order.withTruth ? CHANNELS.map((channel) => signal(`${kind} ${channel} truth`)) : []),
    ],
    // Subfields of EDF+: administration code, technician, equipment, then what else helps.
    recordingFields: ['X', 'X', `Sweepwise_${order.version}`, scenario.id, `seed=${seed}`, scenarioHash(scenario)],
    annotationByteCount: 0,
  };
  const events = eventAnnotations(scenario);
  const { samplesPerRecord } = edfWriter(description);
  const recordS = samplesPerRecord / sampleRateHz;
  const writer = edfWriter({ ...description, annotationByteCount: mostAnnotationBytes(scenario, recordS, events) });
  return {
    header: writer.header,
    records: () => edfRecords(scenario, seed, order.withTruth, writer, events),
    clippedCount: writer.clippedCount,
  };
}

function* edfRecords(
  scenario: Scenario,
  seed: string,
  withTruth: boolean,
  writer: EdfWriter,
  events: readonly WrittenAnnotation[],
): Generator<Uint8Array, void> {
  const { samplesPerRecord } = writer;
  const { sampleRateHz } = scenario.converter;
  const signalsUv = Array.from({ length: withTruth ? 4 : 2 }, () => new Float64Array(samplesPerRecord));
  const overRange = overRangeAnnotations(samplesPerRecord, sampleRateHz);
  const waiting = [...events];
  let annotations: WrittenAnnotation[] = [];
  let filled = 0;
  let endSample = 0;

  for (const piece of continuousRecording(scenario, seed, samplesPerRecord)) {
    // Blocks are as long as records and begin with them, so a piece never spans two.
    const sources = withTruth ? [...piece.recordedUv, ...piece.truthUv] : piece.recordedUv;
    for (const [c, signalUv] of signalsUv.entries()) {
      signalUv.fill(0);
      signalUv.set(sources[c].subarray(0, piece.count));
    }
    filled = piece.count;
    endSample = piece.start + filled;
    annotations = piece.stimuli.map(({ sample, polarity }) => ({
      onsetS: sample / sampleRateHz,
      text: `stimulus ${POLARITIES[polarity]}`,
    }));
    while (waiting.length > 0 && waiting[0].onsetS * sampleRateHz < endSample) {
      annotations.push(waiting.shift() as WrittenAnnotation);
    }
    annotations.push(...overRange.add(piece.overRange, endSample));
    if (filled === samplesPerRecord) {
      yield writer.record(signalsUv, annotations);
      annotations = [];
      filled = 0;
    }
  }
  const last = overRange.end();
  if (filled > 0 || last.length > 0) {
    if (filled === 0) for (const signalUv of signalsUv) signalUv.fill(0);
    const padding = { onsetS: endSample / sampleRateHz, text: END_TEXT };
    yield writer.record(signalsUv, [...annotations, ...last, padding]);
  }
}

const POLARITIES = { 1: 'condensation', [-1]: 'rarefaction' } as const;
const LONGEST_STIMULUS = { text: 'stimulus condensation' };
const LONGEST_OVER_RANGE = { text: 'over-range contra', durationS: 0 };
const END_TEXT = 'end of recording'; // the last data record is filled up with zeros from here

/** Most bytes of annotations that one data record can need: stimuli at the full rate, its events, over-range. */
function mostAnnotationBytes(scenario: Scenario, recordS: number, events: readonly WrittenAnnotation[]): number {
  const { ratePerS, jitterMs } = scenario.stimulus;
  const stimuli = Math.ceil((recordS + 0.002 * jitterMs) * ratePerS) + 1;
  const eventBytes = new Map<number, number>();
  for (const event of events) {
    const record = Math.floor(event.onsetS / recordS);
    eventBytes.set(record, (eventBytes.get(record) ?? 0) + annotationByteCount(event));
  }
  return (
    stimuli * annotationByteCount(LONGEST_STIMULUS) +
    Math.max(0, ...eventBytes.values()) +
    // A stretch may end in each record, and in the last one another is cut off by the end.
    2 * CHANNELS.length * annotationByteCount(LONGEST_OVER_RANGE) +
    annotationByteCount({ text: END_TEXT })
  );
}

function eventAnnotations({ events, converter: { sampleRateHz } }: Scenario): WrittenAnnotation[] {
  return events.map(({ atS, note, action, target, set }) => {
    const done = action === 'none' ? '' : target === 'none' ? action : `${action} (${target})`;
    const changes = Object.entries(set).map(([path, value]) => `${path}=${JSON.stringify(value)}`);
    return {
      onsetS: (Math.round(LEAD_IN_S * sampleRateHz) + Math.round(atS * sampleRateHz)) / sampleRateHz,
      text: `event ${shortened([note, done, ...(note === '' ? changes : [])].filter((part) => part !== '').join(', ') || 'pause')}`,
    };
  });
}

const EVENT_LETTERS = 120; // our choice: readers cut annotations at 512 bytes, and a letter may take four

function shortened(text: string): string {
  const letters = [...text];
  return letters.length > EVENT_LETTERS ? `${letters.slice(0, EVENT_LETTERS - 1).join('')}…` : text;
}

/** Joins over-range stretches that lie closer together than a data record, so that at most one a record ends. */
function overRangeAnnotations(samplesPerRecord: number, sampleRateHz: number) {
  const open: (OverRangeSpan | null)[] = CHANNELS.map(() => null);
  const told = ({ channel, from, to }: OverRangeSpan): WrittenAnnotation => ({
    onsetS: from / sampleRateHz,
    durationS: (to - from) / sampleRateHz,
    text: `over-range ${CHANNELS[channel]}`,
  });
  return {
    /** Takes in the stretches of a piece; returns those that have ended for good. */
    add(spans: readonly OverRangeSpan[], endSample: number): WrittenAnnotation[] {
      const ended: WrittenAnnotation[] = [];
      for (const span of spans) {
        const before = open[span.channel];
        if (before && span.from - before.to < samplesPerRecord) before.to = span.to;
        else {
          if (before) ended.push(told(before));
          open[span.channel] = { ...span };
        }
      }
      for (const [channel, span] of open.entries()) {
        if (!span || endSample - span.to < samplesPerRecord) continue;
        ended.push(told(span));
        open[channel] = null;
      }
      return ended;
    },
    end: () => open.flatMap((span) => (span ? [told(span)] : [])),
  };
}

/** The filters as EDF+ 2.1.3.2 wants them told. */
function filterText({ filter }: Scenario): string {
  const notch = filter.notchHz > 0 ? ` N:${filter.notchHz}Hz` : '';
  return `HP:${filter.highPassHz}Hz LP:${filter.lowPassHz}Hz${notch}`;
}

/** Delimited text: one line a sample; the stimulus column is 1 for condensation, 2 for rarefaction, else 0. */
function tableFile(scenario: Scenario, seed: string, order: SessionFileOrder): SessionFile {
  const encoder = new TextEncoder();
  const names = CHANNELS.flatMap((channel) => [`${channel} (µV)`]);
  const truthNames = order.withTruth ? CHANNELS.map((channel) => `${channel} truth (µV)`) : [];
  const { sampleRateHz } = scenario.converter;
  return {
    header() {
      const lines = [
        `# Sweepwise ${order.version}, scenario ${scenario.id} (${scenarioHash(scenario)}), seed ${seed.replace(/\s+/g, ' ')}, ${sampleRateHz} Hz, ${filterText(scenario)}`,
        '# Teaching simulation: model values, not for clinical decisions. stimulus: 1 condensation, 2 rarefaction; over-range: 1 ipsi, 2 contra, 3 both',
        ...eventAnnotations(scenario).map(({ onsetS, text }) => `# ${onsetS} s: ${text.replace(/\s+/g, ' ')}`),
        ['time (s)', ...names, ...truthNames, 'stimulus', 'over-range'].join(','),
      ];
      return encoder.encode(`${lines.join('\n')}\n`);
    },
    *records() {
      for (const { start, count, recordedUv, truthUv, stimuli, overRange } of continuousRecording(scenario, seed)) {
        const codes = new Uint8Array(count);
        for (const { sample, polarity } of stimuli)
          if (sample < start + count) codes[sample - start] = polarity > 0 ? 1 : 2;
        const flags = new Uint8Array(count);
        for (const { channel, from, to } of overRange) {
          for (let sample = from; sample < to; sample++) flags[sample - start] |= channel + 1;
        }
        const signals = order.withTruth ? [...recordedUv, ...truthUv] : recordedUv;
        let text = '';
        for (let i = 0; i < count; i++) {
          text += Number(((start + i) / sampleRateHz).toFixed(7));
          for (const signalUv of signals) text += `,${Number(signalUv[i].toPrecision(7))}`;
          text += `,${codes[i]},${flags[i]}\n`;
        }
        yield encoder.encode(text);
      }
    },
    clippedCount: () => 0,
  };
}
