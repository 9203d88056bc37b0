import type { Scenario } from '../scenario/schema.ts';
import type { Presentation } from '../stimulus/schedule.ts';
import { averagingContext, startSession } from './session.ts';

/** A stretch of one channel during which the converter was over-range or its guard time still ran. */
export interface OverRangeSpan {
  channel: number;
  /** Samples [from, to) of the recording. */
  from: number;
  to: number;
}

/** A piece of the continuous recording behind the sweeps; the arrays are its own. */
export interface RecordingPiece {
  /** Sample of the recording at which the piece begins. */
  start: number;
  count: number;
  /** Per channel, µV: behind amplifier, converter and digital filters, as the sweeps are cut from it. */
  recordedUv: readonly Float64Array[];
  /** Per channel, µV: the noise-free response through the linear part of the same chain. */
  truthUv: readonly Float64Array[];
  /** Stimuli whose sample lies in the piece. */
  stimuli: Presentation[];
  /** Over-range stretches, cut at the ends of the piece. */
  overRange: OverRangeSpan[];
}

/**
 * Plays one run as the continuous recording that a machine would store, piece by piece.
 *
 * It begins half a second before the first stimulus and ends with the last sweep. Same samples as the sweeps of
 * `startSession`, whatever the size of the pieces.
 *
 * @param blockSampleCount - largest length of a piece
 * @example for (const { recordedUv, count } of continuousRecording(scenario, '1')) …
 */
export function* continuousRecording(
  scenario: Scenario,
  seed: string,
  blockSampleCount = 1024,
): Generator<RecordingPiece, void> {
  const { samplesPerSweep, preSampleCount } = averagingContext(scenario);
  const session = startSession(scenario, seed, blockSampleCount);
  const ahead: Presentation[] = [];
  const made: RecordingPiece[] = [];
  session.listen({
    present: (presentation) => ahead.push(presentation),
    record(start, recordedUv, truthUv, flagged) {
      const count = recordedUv[0].length;
      made.push({
        start,
        count,
        recordedUv: recordedUv.map((channel) => channel.slice()),
        truthUv: truthUv.map((channel) => channel.slice()),
        stimuli: [],
        overRange: recordedUv.flatMap((_, channel) => spansOf(channel, start, start + count, flagged)),
      });
    },
  });

  let end = 0;
  for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
    const last = made.pop(); // it may hold the end of the recording
    yield* withStimuli(made.splice(0), ahead);
    if (last) made.push(last);
    end = sweep.sample - preSampleCount + samplesPerSweep;
  }
  for (const piece of withStimuli(made, ahead)) {
    const count = Math.min(piece.count, end - piece.start);
    if (count <= 0) return;
    const cut = (channels: readonly Float64Array[]) => channels.map((channel) => channel.subarray(0, count));
    const overRange = piece.overRange
      .map((span) => ({ ...span, to: Math.min(span.to, piece.start + count) }))
      .filter(({ from, to }) => from < to);
    yield { ...piece, count, recordedUv: cut(piece.recordedUv), truthUv: cut(piece.truthUv), overRange };
  }
}

/** Hands to each piece the stimuli that fall into it. */
function* withStimuli(pieces: readonly RecordingPiece[], ahead: Presentation[]): Generator<RecordingPiece> {
  for (const piece of pieces) {
    while (ahead.length > 0 && ahead[0].sample < piece.start + piece.count) {
      piece.stimuli.push(ahead.shift() as Presentation);
    }
    yield piece;
  }
}

/** The flagged stretches of one channel within samples [from, to). */
function spansOf(
  channel: number,
  from: number,
  to: number,
  flagged: (channel: number, from: number, to: number) => boolean,
): OverRangeSpan[] {
  const spans: OverRangeSpan[] = [];
  if (!flagged(channel, from, to)) return spans;
  let open = -1;
  for (let sample = from; sample < to; sample++) {
    const isFlagged = flagged(channel, sample, sample + 1);
    if (isFlagged && open < 0) open = sample;
    if (!isFlagged && open >= 0) {
      spans.push({ channel, from: open, to: sample });
      open = -1;
    }
  }
  if (open >= 0) spans.push({ channel, from: open, to });
  return spans;
}
