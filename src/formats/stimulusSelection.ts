import { selectEvents } from './eventSelection.ts';
import type { Recording } from './recording.ts';
import { RecordingError } from './recordingError.ts';

/** Polarity of the stimuli behind a choice of events. */
export const polarityChoices = ['condensation', 'rarefaction', 'alternating'] as const;
export type PolarityChoice = (typeof polarityChoices)[number];

/** Events that are stimuli, as `selectEvents` reads them, with their polarity. */
export interface StimulusChoice {
  readonly events: string;
  readonly polarity: PolarityChoice;
}

/**
 * Finds the stimuli of a recording: several choices of events, each with its polarity, merged by time.
 *
 * `alternating` begins with condensation. An instant that two choices claim is one stimulus, with the first's polarity.
 *
 * @returns s from the first sample, rising; +1 condensation, −1 rarefaction
 * @throws {RecordingError} for a choice that matches nothing, or none at all
 * @example selectStimuli(recording, [{ events: 'status=1', polarity: 'condensation' }]).polarities // [1, 1, …]
 */
export function selectStimuli(
  recording: Recording,
  choices: readonly StimulusChoice[],
): { eventTimesS: number[]; polarities: (1 | -1)[] } {
  if (choices.length === 0) throw new RecordingError(recording.name, 'events', 'at least one must be chosen, got none');
  const polarityAt = new Map<number, 1 | -1>();
  for (const { events, polarity } of choices) {
    for (const [k, timeS] of selectEvents(recording, events).entries()) {
      const sign = polarity === 'alternating' ? (k % 2 === 0 ? 1 : -1) : polarity === 'condensation' ? 1 : -1;
      if (!polarityAt.has(timeS)) polarityAt.set(timeS, sign);
    }
  }
  const eventTimesS = [...polarityAt.keys()].sort((a, b) => a - b);
  return { eventTimesS, polarities: eventTimesS.map((timeS) => polarityAt.get(timeS) as 1 | -1) };
}
