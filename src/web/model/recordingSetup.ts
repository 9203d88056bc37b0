import type { Scenario } from '../../core/scenario/schema.ts';
import type { PolarityChoice, StimulusChoice } from '../../formats/stimulusSelection.ts';
import type { RecordingContents } from '../worker/recordingClient.ts';

/** A kind of event of the recording: whether its instants are stimuli, and of which polarity. */
export interface StimulusRow {
  /** As `selectEvents` reads it. */
  events: string;
  polarity: PolarityChoice;
  isStimulus: boolean;
  /** How many the files hold; null for one that was made by hand. */
  eventCount: number | null;
}

/** How a recording is mapped, cut and filtered. */
export interface RecordingSetup {
  /** A label, or A-B for a difference. */
  channel: string;
  rows: readonly StimulusRow[];
  windowMs: [number, number];
  bandHz: [number, number];
  /** What to implant, if that is asked for. */
  implant: { kind: Scenario['response']['kind']; sizeUv: number };
}

/**
 * A first guess for a recording: the first signal channel, the first kind of event as stimuli, and a window and band
 * for late responses or, at sample rates that allow them, for early ones. Our choice.
 *
 * Events whose name tells a polarity get it, and all of those are taken together.
 */
export function recordingSetup({ channels, events }: RecordingContents): RecordingSetup {
  const isMarker = (label: string) => events.some(({ selector }) => selector.startsWith(`${label}=`));
  const signal = channels.find(({ label, unit }) => unit === 'µV' && !isMarker(label)) ?? channels[0];
  const early = signal.sampleRateHz >= 8000;
  const saysPolarity = events.some(({ selector }) => polarityOf(selector) !== null);
  return {
    channel: signal.label,
    rows: events.map(({ selector, eventCount }, k) => ({
      events: selector,
      polarity: polarityOf(selector) ?? 'condensation',
      isStimulus: saysPolarity ? polarityOf(selector) !== null : k === 0,
      eventCount,
    })),
    windowMs: early ? [-5, 15] : [-100, 700],
    bandHz: early ? [100, 1500] : [1, Math.min(30, Math.floor(0.4 * signal.sampleRateHz))],
    // The slowest of the small responses that such a rate can hold: its usual filter ends below half of it.
    implant: signal.sampleRateHz > 3000 ? { kind: 'click-abr', sizeUv: 0.5 } : { kind: 'cortical', sizeUv: 8 },
  };
}

/** The rows that are stimuli, as the reader takes them. */
export function stimulusChoices(rows: readonly StimulusRow[]): StimulusChoice[] {
  return rows.filter(({ isStimulus }) => isStimulus).map(({ events, polarity }) => ({ events, polarity }));
}

/** Ways to say by hand where the stimuli are. */
export type HandMadeKind = 'rise' | 'fall' | 'every';

/** Writes stimuli made by hand as `selectEvents` reads them: crossings of a level, µV, or a steady beat, s. */
export function handMadeRow(kind: HandMadeKind, channel: string, first: number, second: number): StimulusRow {
  const events = kind === 'every' ? `every=${first}@${second}` : `${kind}=${channel}@${first}`;
  return { events, polarity: 'condensation', isStimulus: true, eventCount: null };
}

function polarityOf(selector: string): 'condensation' | 'rarefaction' | null {
  const word = /\b(condensation|rarefaction)\b/i.exec(selector)?.[1].toLowerCase();
  return word === 'condensation' || word === 'rarefaction' ? word : null;
}
