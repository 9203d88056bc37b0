import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { readRecordings, selectEvents } from '../../src/formats/index.ts';
import { buildWfdb, buildWfdbAnnotations, packWfdb, wfdbChecksum } from './buildWfdb.ts';
import { needOutsideReaders, readWithBiosig, withFiles } from './outsideReaders.ts';

const encode = (text: string) => new TextEncoder().encode(text);
const first = [0, 1, -1, 100, -100, 2047, -2047, 7];
const second = [5, -5, 600, -600, 0, 1, 2, 3];

describe('readRecordings with WFDB', () => {
  it.each([16, 24, 32, 61, 212])('reads both signals of format %i in µV, with gain and baseline', (format) => {
    const files = buildWfdb('a', 500, format, [
      { samples: first, rest: `400(10)/mV 12 0 0 ${wfdbChecksum(first)} 0 lead one` },
      { samples: second, rest: '2/uV 12 5' },
    ]);
    const [recording, ...more] = readRecordings(files);
    expect(more).toEqual([]);
    expect(recording).toMatchObject({ name: 'a.hea', format: 'wfdb', warnings: [], missing: [], events: [] });
    const [one, two] = recording.channels;
    expect([one.label, one.unit, one.sampleRateHz, two.label]).toEqual(['lead one', 'µV', 500, 'signal-2']);
    expect(Array.from(one.samplesUv)).toEqual(first.map((value) => ((value - 10) / 400) * 1000));
    // Without a baseline of its own the converter's zero stands for 0 µV.
    expect(Array.from(two.samplesUv)).toEqual(second.map((value) => (value - 5) / 2));
  });

  it('reads format 80, an odd number of 12-bit samples, and the usual gain and rate where the header has none', () => {
    const small = [0, 1, -1, 127, -127];
    const [eight] = readRecordings(buildWfdb('b', 360, 80, [{ samples: small, rest: '' }]));
    expect(Array.from(eight.channels[0].samplesUv)).toEqual(small.map((value) => value * 5));
    const [twelve] = readRecordings([
      { name: 'c.hea', bytes: encode('c 1\nc.dat 212\n') },
      { name: 'c.dat', bytes: packWfdb([1, -2, 3], 212).subarray(0, 5) },
    ]);
    expect(twelve.channels[0].sampleRateHz).toBe(250);
    expect(Array.from(twelve.channels[0].samplesUv)).toEqual([5, -10, 15]);
  });

  it('reads several samples a frame, a skew and an offset', () => {
    const header = 'd 2 100 3\nd.dat 16x2+4 1/uV 16 0 0 0 0 fast\nd.dat 16:1+4 1/uV 16 0 0 0 0 late\n';
    const dat = packWfdb([99, 99, 1, 2, 70, 3, 4, 80, 5, 6, 90], 16);
    const [recording] = readRecordings([
      { name: 'd.hea', bytes: encode(header) },
      { name: 'd.dat', bytes: dat },
    ]);
    const [fast, late] = recording.channels;
    expect([fast.sampleRateHz, late.sampleRateHz]).toEqual([200, 100]);
    expect(Array.from(fast.samplesUv)).toEqual([1, 2, 3, 4, 5, 6]);
    expect(Array.from(late.samplesUv)).toEqual([80, 90, 90]);
    expect(recording.missing).toEqual([{ startS: 0.02, endS: 0.03 }]);
  });

  it('reads annotations: letters, texts, long gaps, a resolution of their own', () => {
    const files = buildWfdb('e', 360, 16, [{ samples: Array.from({ length: 4000 }, (_, i) => i % 50) }]);
    const beats = buildWfdbAnnotations([
      { tick: 18, code: 1 },
      { tick: 400, code: 5, channel: 1 },
      { tick: 70_000, code: 22, text: 'click' },
      { tick: 70_100, code: 22, text: 'clicks' },
    ]);
    const fine = buildWfdbAnnotations([
      { tick: 0, code: 22, text: '## time resolution: 1000' },
      { tick: 250, code: 1 },
    ]);
    const [recording] = readRecordings([...files, { name: 'e.atr', bytes: beats }, { name: 'e.fine', bytes: fine }]);
    expect(recording.events.map(({ timeS, label }) => [timeS, label])).toEqual([
      [18 / 360, 'N'],
      [0.25, 'N'],
      [400 / 360, 'V'],
      [70_000 / 360, 'click'],
      [70_100 / 360, 'clicks'],
    ]);
    expect(selectEvents(recording, 'annotation=click')).toEqual([70_000 / 360]);
  });

  it('tells lost samples, torn files and wrong sums', () => {
    const files = buildWfdb('f', 100, 16, [{ samples: [1, 2, -32768, -32768, 5, 6], rest: '1/uV 16 0 1 77 0 x' }]);
    const [recording] = readRecordings(files);
    expect(recording.missing).toEqual([{ startS: 0.02, endS: 0.04 }]);
    expect(Array.from(recording.channels[0].samplesUv)).toEqual([1, 2, 2, 2, 5, 6]);
    expect(recording.warnings).toEqual([expect.stringContaining('does not match the header')]);
    const [torn] = readRecordings([files[0], { name: 'f.dat', bytes: files[1].bytes.subarray(0, 7) }]);
    expect(torn.warnings[0]).toBe('f.dat ends early: 3 of 6 samples; the complete ones are read');
  });

  it('takes other files along one by one', () => {
    const csv = { name: 'other.csv', bytes: encode('time,Cz\n0,1\n0.004,2\n0.008,3\n') };
    const files = [...buildWfdb('g', 100, 16, [{ samples: first }]), csv];
    expect(readRecordings(files).map(({ name }) => name)).toEqual(['g.hea', 'other.csv']);
  });

  const good = buildWfdb('h', 100, 16, [{ samples: first }]);
  const withHeader = (text: string) => [{ name: 'h.hea', bytes: encode(text) }, good[1]];
  it.each([
    // files, what the message must say, why
    [[good[0]], 'h.hea: signals: "h.dat" must lie beside it, got none', 'signal file left behind'],
    [[good[1]], 'h.dat: file: must come with the header', 'header left behind'],
    [withHeader('# nothing\n'), 'h.hea: header: must hold a line for the record, got none', 'empty'],
    [withHeader('h/3 2 100 8\n'), 'h.hea: line 1: record of segments is not read, got "h/3"', 'segments'],
    [withHeader('h none 100\n'), 'line 1: number of signals must be a whole number above 0, got "none"', 'count'],
    [withHeader('h 1 -5\nh.dat 16\n'), 'line 1: rate must be above 0 Hz, got "-5"', 'rate'],
    [withHeader('h 2 100\nh.dat 16\n'), 'header: must describe 2 signals, got 1', 'signal line left out'],
    [
      withHeader('h 1 100\n# x\nh.dat 310\n'),
      'line 3: storage format must be one of 16, 24, 32, 61, 80, 212',
      'format',
    ],
    [withHeader('h 1 100\nh.dat 16 loud\n'), 'line 2: gain must be a number, got "loud"', 'gain'],
    [withHeader('h 1 100 8\nh.dat 16+90\n'), 'h.dat: must hold at least one sample', 'offset beyond the end'],
  ])('refuses in one line naming file, place and rule (%#)', (files, message) => {
    expect(() => readRecordings(files)).toThrow(message);
  });

  it('never fails otherwise on damaged bytes', () => {
    const files = [...good, { name: 'h.atr', bytes: buildWfdbAnnotations([{ tick: 3, code: 22, text: 'abc' }]) }];
    let state = 12345;
    const next = (limit: number) => {
      state = (Math.imul(state, 1103515245) + 12345) >>> 0;
      return state % limit;
    };
    for (let round = 0; round < 400; round++) {
      const damaged = files.map(({ name, bytes }) => ({ name, bytes: bytes.slice(0, bytes.length - next(3)) }));
      const { bytes } = damaged[next(3)];
      for (let k = 0; k < 3; k++) bytes[next(bytes.length)] = next(256);
      try {
        readRecordings(damaged);
      } catch (error) {
        expect((error as Error).name).toBe('RecordingError');
      }
    }
  });
});

describe('WFDB against BioSig, a reader that is not ours', () => {
  beforeAll(needOutsideReaders, 300_000);

  it.each([
    // BioSig 2.5 reads several signals of format 16 as if they followed each other: there it is asked about one.
    [16, 1],
    [212, 2],
  ])('gives the same µV for format %i', (format, signalCount) => {
    const long = Array.from({ length: 500 }, (_, i) => Math.round(900 * Math.sin(i / 9)));
    const other = long.map((value, i) => (i % 7) - Math.round(value / 3));
    const signals = [long, other].slice(0, signalCount).map((samples, c) => {
      return { samples, rest: `200/mV 12 0 ${samples[0]} ${wfdbChecksum(samples)} 0 lead ${c}` };
    });
    const files = buildWfdb('record', 250, format, signals);
    const [ours] = readRecordings(files);
    const theirs = withFiles(Object.fromEntries(files.map(({ name, bytes }) => [name, bytes])), (folder) =>
      readWithBiosig(join(folder, 'record.hea')),
    );
    expect(theirs.header.Samplingrate).toBe(250);
    for (const [c, { samplesUv }] of ours.channels.entries()) {
      expect(theirs.channelsUv[c]).toHaveLength(long.length);
      // BioSig's unit is mV here, to six digits.
      for (const [i, mv] of theirs.channelsUv[c].entries())
        expect(Math.abs(1000 * mv - samplesUv[i])).toBeLessThan(0.01);
    }
  });
});
