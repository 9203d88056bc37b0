import { gzipSync } from 'node:zlib';
import seedrandom from 'seedrandom';
import { describe, expect, it } from 'vitest';
import { eventChoices, RecordingError, readRecording, selectEvents } from '../../src/formats/index.ts';
import { buildEdf } from './buildEdf.ts';

const encode = (text: string): Uint8Array => new TextEncoder().encode(text);
const ramp = Array.from({ length: 64 }, (_, i) => i * 37 - 900);
const csv = [
  'timestamps,TP9,Marker',
  ...ramp.map((value, k) => `${(k / 256).toFixed(4)},${value / 8},${k % 9 === 4 ? 1 : 0}`),
];
const annotations = {
  samplesPerRecord: 24,
  lists: ['+0\x14\x14\x00+0.5\x14a\x14\x00', '+1\x14\x14\x00', '+2\x14\x14\x00'],
};
const options = { recordCount: 3, overrides: { reserved: 'EDF+C' } };
const eeg = { label: 'Cz', samplesPerRecord: 16, samples: ramp };
const status = { label: 'Status', dimension: 'Boolean', samplesPerRecord: 16, samples: ramp.map((_, i) => i % 5) };

const files: readonly [string, Uint8Array][] = [
  ['made.edf', buildEdf('EDF', [eeg, { label: 'EDF Annotations', ...annotations }], options)],
  ['made.bdf', buildEdf('BDF', [eeg, status], { recordCount: 3 })],
  ['made.csv', encode(csv.join('\n'))],
  ['made.txt', encode(csv.join('\r\n').replaceAll(',', ';').replaceAll('.', ','))],
  ['made.csv.gz', new Uint8Array(gzipSync(csv.join('\n')))],
];

/** One to four changes of the kinds that disks, editors and transfers make. */
function mutate(bytes: Uint8Array, random: () => number): Uint8Array {
  let mutated = Array.from(bytes);
  const position = (): number => Math.floor(random() * mutated.length);
  for (let change = Math.floor(random() * 4); change >= 0; change--) {
    const kind = Math.floor(random() * 6);
    const at = position();
    if (kind === 0) mutated = mutated.slice(0, at);
    else if (kind === 1) mutated[at] ^= 1 << Math.floor(random() * 8);
    else if (kind === 2) mutated[at] = Math.floor(random() * 256);
    else if (kind === 3) mutated.splice(at, Math.floor(random() * 20));
    else if (kind === 4) mutated.splice(at, 0, ...mutated.slice(position(), position()));
    else {
      const lineStart = mutated.lastIndexOf(10, at) + 1;
      const lineEnd = mutated.indexOf(10, at);
      mutated.splice(lineStart, lineEnd < 0 ? 0 : lineEnd + 1 - lineStart);
    }
  }
  return Uint8Array.from(mutated);
}

describe('damaged files', () => {
  it.each(files)('%s: 300 mutations are read or refused in one line, soon', (name, bytes) => {
    expect(readRecording(name, bytes).channels.length).toBeGreaterThan(0);
    let readCount = 0;
    for (let seed = 1; seed <= 300; seed++) {
      const mutated = mutate(bytes, seedrandom(`${name} ${seed}`));
      const startedMs = performance.now();
      try {
        const recording = readRecording(name, mutated);
        readCount++;
        for (const { sampleRateHz, samplesUv } of recording.channels) {
          expect(sampleRateHz > 0 && Number.isFinite(sampleRateHz), `seed ${seed}: rate`).toBe(true);
          expect(samplesUv.every(Number.isFinite), `seed ${seed}: samples`).toBe(true);
        }
        for (const warning of recording.warnings) expect(warning, `seed ${seed}`).not.toMatch(/[\r\n]/);
        for (const { selector, eventCount } of eventChoices(recording)) {
          if (!/[,=].*[,=]/.test(selector)) expect(eventCount).toBeGreaterThan(0);
        }
      } catch (error) {
        if (!(error instanceof RecordingError)) throw new Error(`seed ${seed}`, { cause: error });
        expect(error.message, `seed ${seed}`).toMatch(new RegExp(`^${name}: [^\r\n]+$`));
        expect(error.message, `seed ${seed}: a fault of the reader itself`).not.toContain('could not be read:');
      }
      expect(performance.now() - startedMs, `seed ${seed}: time`).toBeLessThan(2000);
    }
    expect(readCount).toBeGreaterThan(name.endsWith('.gz') ? 0 : 20); // so that the mutations reach past the header
  });

  it('an event selection of any text ends in times or in one line', () => {
    const recording = readRecording(...files[2]);
    const pieces = ['Marker', '=', ',', '1', '0', 'annotation', 'status', ' ', '-', 'é', '\n', 'TP9'];
    for (let seed = 1; seed <= 300; seed++) {
      const random = seedrandom(`selection ${seed}`);
      const text = Array.from({ length: 6 }, () => pieces[Math.floor(random() * pieces.length)]).join('');
      try {
        selectEvents(recording, text);
      } catch (error) {
        expect(error, `seed ${seed}`).toBeInstanceOf(RecordingError);
      }
    }
  });
});
