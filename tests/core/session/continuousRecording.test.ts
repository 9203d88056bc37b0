import { describe, expect, it } from 'vitest';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { continuousRecording } from '../../../src/core/session/continuousRecording.ts';
import { averagingContext, startSession } from '../../../src/core/session/session.ts';
import { EVERYTHING } from './digest.ts';

/** Puts the pieces of a run together. */
function whole(document: object, blockSampleCount: number) {
  const recordedUv: number[] = [];
  const truthUv: number[] = [];
  const stimuli: { sample: number; polarity: number }[] = [];
  const flags: boolean[] = [];
  for (const piece of continuousRecording(resolveScenario(document), '7', blockSampleCount)) {
    expect(piece.start).toBe(recordedUv.length);
    recordedUv.push(...piece.recordedUv[0]);
    truthUv.push(...piece.truthUv[0]);
    stimuli.push(...piece.stimuli.map(({ sample, polarity }) => ({ sample, polarity })));
    for (let i = 0; i < piece.count; i++) flags.push(false);
    for (const { channel, from, to } of piece.overRange) if (channel === 0) flags.fill(true, from, to);
  }
  return { recordedUv, truthUv, stimuli, flags };
}

const cases = [
  ['a quiet patient', { session: { durationS: 4 } }],
  ['everything at once', EVERYTHING],
  ['overload', { session: { durationS: 4 }, drift: { stepsPerS: 1, stepUv: 900 }, amplifier: { rangeUv: 50 } }],
] as const;

describe('continuousRecording', () => {
  it.each(cases)('holds the very sweeps of the session, with their flags: %s', (_, document) => {
    // The recording has no baseline rule: sweeps are compared as they are cut.
    const scenario = resolveScenario({ ...document, averaging: { baseline: 'none' } });
    const { samplesPerSweep, preSampleCount } = averagingContext(scenario);
    const { recordedUv, truthUv, stimuli, flags } = whole(scenario, 1024);
    const session = startSession(scenario, '7', 333);
    let count = 0;
    for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
      const { sample, polarity } = stimuli[count++];
      const from = sample - preSampleCount;
      expect([sample, polarity]).toEqual([sweep.sample, sweep.polarity]);
      expect(Float64Array.from(recordedUv.slice(from, from + samplesPerSweep))).toEqual(sweep.recordedUv[0]);
      expect(Float64Array.from(truthUv.slice(from, from + samplesPerSweep))).toEqual(sweep.truthUv[0]);
      expect(flags.slice(from, from + samplesPerSweep).includes(true)).toBe(sweep.overRange[0]);
    }
    expect(stimuli).toHaveLength(count);
    // It ends with the last sweep.
    expect(recordedUv).toHaveLength(stimuli[count - 1].sample - preSampleCount + samplesPerSweep);
  });

  it.each([37, 4096, 8000])('is the same in pieces of %i samples', (blockSampleCount) => {
    const document = { session: { durationS: 2 }, drift: { stepsPerS: 2, stepUv: 900 }, amplifier: { rangeUv: 50 } };
    expect(whole(document, blockSampleCount)).toEqual(whole(document, 1024));
  });
});
