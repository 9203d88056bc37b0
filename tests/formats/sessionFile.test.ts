import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { resolveScenario } from '../../src/core/scenario/resolve.ts';
import { continuousRecording } from '../../src/core/session/continuousRecording.ts';
import { readRecording, selectEvents } from '../../src/formats/index.ts';
import { type SessionFileOrder, sessionFile } from '../../src/formats/sessionFile.ts';
import { needOutsideReaders, readWithBiosig, readWithEdflib, withFiles } from './outsideReaders.ts';

/** Steps that pin the amplifier, an event with letters beyond ASCII, alternating polarity with jitter. */
const scenario = resolveScenario({
  id: 'written',
  session: { durationS: 3.3 },
  stimulus: { jitterMs: 2 },
  drift: { stepsPerS: 1, stepUv: 900 },
  amplifier: { rangeUv: 60, recoveryMs: 30 },
  converter: { guardMs: 90 },
  events: [
    { atS: 1, note: 'Wärmer geworden', set: { 'eeg.slowUv': 20 } },
    { atS: 1, note: '', set: { 'amplifier.rangeUv': 200 } },
    { atS: 2, action: 'swallow' },
  ],
});

/** The run without any file: everything that a file should hold. */
const run = (() => {
  const samplesUv: [number[], number[]] = [[], []];
  const truthUv: number[] = [];
  const stimuli: { sample: number; polarity: number }[] = [];
  const flagged: [boolean[], boolean[]] = [[], []];
  for (const piece of continuousRecording(scenario, '5')) {
    for (const c of [0, 1]) {
      samplesUv[c].push(...piece.recordedUv[c]);
      for (let i = 0; i < piece.count; i++) flagged[c].push(false);
    }
    truthUv.push(...piece.truthUv[0]);
    stimuli.push(...piece.stimuli);
    for (const { channel, from, to } of piece.overRange) flagged[channel].fill(true, from, to);
  }
  return { samplesUv, truthUv, stimuli, flagged };
})();
const { sampleRateHz } = scenario.converter;

function written(format: SessionFileOrder['format'], withTruth = false): Uint8Array {
  const file = sessionFile(scenario, '5', { format, withTruth, version: '1.2.3' });
  const records = [...file.records()];
  expect(file.clippedCount()).toBe(0);
  return Buffer.concat([file.header(format === 'csv' ? -1 : records.length), ...records]);
}

/** A stretch of at least two records told by annotations covers every flagged sample, and starts and ends on one. */
function expectOverRange(spans: readonly (readonly [number, number])[], channel: 0 | 1): void {
  const flags = run.flagged[channel];
  expect(flags).toContain(true);
  const told = flags.map(() => false);
  for (const [onsetS, durationS] of spans) {
    const from = Math.round(onsetS * sampleRateHz);
    const to = Math.round((onsetS + durationS) * sampleRateHz);
    expect([flags[from], flags[to - 1], flags[from - 1] ?? false, flags[to] ?? false]).toEqual([
      true,
      true,
      false,
      false,
    ]);
    told.fill(true, from, to);
  }
  expect(flags.filter((flag, i) => flag && !told[i])).toHaveLength(0);
}

beforeAll(needOutsideReaders, 300_000);

describe.each([
  // format, code in EDFlib, largest code, step of the file in µV: limit is twice the largest range of 200 µV
  ['edf+', 1, 400 / 32767],
  ['bdf+', 3, 400 / 8388607],
] as const)('sessionFile as %s', (format, fileType, stepUv) => {
  const bytes = written(format, true);
  const extension = format.slice(0, 3);

  it('is read by EDFlib: samples, stimuli with polarity, events, over-range stretches', () => {
    const reading = withFiles({ [`a.${extension}`]: bytes }, (folder) =>
      readWithEdflib(join(folder, `a.${extension}`), run.truthUv.length),
    );
    expect(reading).toMatchObject({ fileType, equipment: 'Sweepwise 1.2.3' });
    expect(reading.additional).toContain('written seed=5');
    expect(
      reading.signals.map(({ label, dimension, prefilter, sampleRateHz: rateHz }) => [
        label,
        dimension,
        prefilter,
        rateHz,
      ]),
    ).toEqual(
      ['EEG ipsi', 'EEG contra', 'EEG ipsi truth', 'EEG contra truth'].map((label) => [
        label,
        'uV',
        'HP:100Hz LP:1500Hz',
        16000,
      ]),
    );
    const sources = [run.samplesUv[0], run.samplesUv[1], run.truthUv];
    for (const [c, source] of sources.entries()) {
      const worst = source.reduce((most, uv, i) => Math.max(most, Math.abs(uv - reading.signals[c].samplesUv[i])), 0);
      expect(worst).toBeLessThan(0.501 * stepUv);
    }
    const texts = (start: string) => reading.annotations.filter(([, , text]) => text.startsWith(start));
    expect(texts('stimulus').map(([onsetS, , text]) => [Math.round(onsetS * sampleRateHz), text])).toEqual(
      run.stimuli.map(({ sample, polarity }) => [sample, `stimulus ${polarity > 0 ? 'condensation' : 'rarefaction'}`]),
    );
    expect(texts('event')).toEqual([
      [1.5, null, 'event Wärmer geworden'],
      [1.5, null, 'event amplifier.rangeUv=200'],
      [2.5, null, 'event swallow'],
    ]);
    expectOverRange(
      texts('over-range ipsi').map(([onsetS, durationS]) => [onsetS, durationS ?? 0]),
      0,
    );
    expectOverRange(
      texts('over-range contra').map(([onsetS, durationS]) => [onsetS, durationS ?? 0]),
      1,
    );
    expect(Math.round(texts('end of recording')[0][0] * sampleRateHz)).toBe(run.truthUv.length);
  });

  it('is read by BioSig: the same samples and stimuli', () => {
    const { header, channelsUv } = withFiles({ [`a.${extension}`]: bytes }, (folder) =>
      readWithBiosig(join(folder, `a.${extension}`)),
    );
    expect(header.TYPE).toBe(extension.toUpperCase());
    expect(header.Samplingrate).toBe(16000);
    // BioSig prints samples to six digits.
    for (const c of [0, 1]) {
      const worst = run.samplesUv[c].reduce((most, uv, i) => Math.max(most, Math.abs(uv - channelsUv[c][i])), 0);
      expect(worst).toBeLessThan(0.501 * stepUv + 1e-3);
    }
    const stimuli = header.EVENT?.filter(({ Description }) => Description.startsWith('stimulus')) ?? [];
    expect(stimuli.map(({ Description }) => Description)).toEqual(
      run.stimuli.map(({ polarity }) => `stimulus ${polarity > 0 ? 'condensation' : 'rarefaction'}`),
    );
  });

  it('comes back through our own reader without a warning', () => {
    const recording = readRecording(`a.${extension}`, bytes);
    expect(recording).toMatchObject({ format, warnings: [] });
    expect(recording.channels.map(({ unit, sampleRateHz: rateHz }) => [unit, rateHz])).toEqual(
      Array.from({ length: 4 }, () => ['µV', 16000]),
    );
    const condensation = selectEvents(recording, 'annotation=stimulus condensation');
    expect(condensation.map((timeS) => Math.round(timeS * sampleRateHz))).toEqual(
      run.stimuli.filter(({ polarity }) => polarity > 0).map(({ sample }) => sample),
    );
    const worst = run.samplesUv[0].reduce(
      (most, uv, i) => Math.max(most, Math.abs(uv - recording.channels[0].samplesUv[i])),
      0,
    );
    expect(worst).toBeLessThan(0.501 * stepUv);
  });
});

describe('sessionFile', () => {
  it('as csv comes back through our own reader, with marker codes for polarity and over-range', () => {
    const recording = readRecording('a.csv', written('csv', true));
    expect(recording).toMatchObject({ warnings: [], missing: [] });
    expect(recording.channels.map(({ label }) => label)).toEqual([
      ...['ipsi', 'contra', 'ipsi truth', 'contra truth', 'stimulus', 'over-range'],
    ]);
    expect(recording.channels[0].sampleRateHz).toBe(16000);
    expect(selectEvents(recording, 'stimulus=2').map((timeS) => Math.round(timeS * sampleRateHz))).toEqual(
      run.stimuli.filter(({ polarity }) => polarity < 0).map(({ sample }) => sample),
    );
    const { samplesUv } = recording.channels[0];
    expect(samplesUv).toHaveLength(run.truthUv.length);
    for (const i of [0, 1000, 20_000]) expect(Math.abs(samplesUv[i] - run.samplesUv[0][i])).toBeLessThan(1e-4);
    const flags = recording.channels[5].samplesUv;
    expect(Array.from(flags, (code) => (code & 1) === 1)).toEqual(run.flagged[0]);
  });

  it('tells what EDF+ cannot hold', () => {
    const odd = resolveScenario({ converter: { sampleRateHz: 16000.5 }, session: { durationS: 1 } });
    const order = { format: 'edf+', withTruth: false, version: '1' } as const;
    expect(() => sessionFile(odd, '1', order)).toThrow(
      /edfWriter: sampleRateHz must give .* whole samples, got 16000.5/,
    );
  });

  it('holds a session in which everything happens at once', () => {
    const dense = resolveScenario({
      session: { durationS: 2 },
      stimulus: { ratePerS: 55.3, jitterMs: 0.5 },
      events: Array.from({ length: 40 }, (_, k) => ({ atS: 0.5, note: `€ ${'many words '.repeat(20)} ${k}`, set: {} })),
      drift: { stepsPerS: 5, stepUv: 2000, stepRecoveryS: 0.01 },
      amplifier: { rangeUv: 20, recoveryMs: 1, couplingHz: 20 },
      converter: { guardMs: 0 },
    });
    const file = sessionFile(dense, '3', { format: 'edf+', withTruth: false, version: '1' });
    const records = [...file.records()];
    const recording = readRecording('a.edf', Buffer.concat([file.header(records.length), ...records]));
    const labels = recording.events.map(({ label }) => label);
    expect(labels.filter((label) => label.startsWith('event'))).toHaveLength(40);
    expect(labels.filter((label) => label.startsWith('stimulus'))).toHaveLength(110);
    expect(labels.filter((label) => label.startsWith('over-range')).length).toBeGreaterThan(0);
    expect(recording.warnings).toEqual([]);
  });
});
