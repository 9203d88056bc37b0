import { describe, expect, it } from 'vitest';
import { findStatusEvents } from '../../src/formats/bdfStatus.ts';
import { readAnnotationLists } from '../../src/formats/edfAnnotations.ts';
import { type Recording, RecordingError, readRecording } from '../../src/formats/index.ts';
import { type BuiltSignal, buildEdf, type FieldOverrides } from './buildEdf.ts';

const cz: BuiltSignal = { label: 'Cz', samples: [0, 1, -2, 3, 4, 5, 6, 32767] };
const read = (bytes: Uint8Array, name = 'made.edf'): Recording => readRecording(name, bytes);
const lists = (...perRecord: string[]): BuiltSignal => ({
  label: 'EDF Annotations',
  samplesPerRecord: 40,
  lists: perRecord,
});
const plus = { overrides: { reserved: 'EDF+C' } };

describe('EDF samples', () => {
  const scalings = [
    // dimension, physical, digital, digital value, expected µV, why
    ['uV', [-32768, 32767], [-32768, 32767], -2, -2, 'one to one'],
    ['mV', [-1, 1], [-2000, 2000], 500, 250, 'by hand: 500/2000 of 1 mV'],
    ['V', [-1, 1], [-1000, 1000], 1, 1000, 'by hand: 1/1000 of 1 V'],
    ['nV', [0, 4000], [0, 4], 3, 3, 'by hand: 3000 nV'],
    ['uV', [100, -100], [-100, 100], 40, -40, 'an inverted physical range is legal and turns the sign'],
    ['\u00b5V', [-100, 100], [-100, 100], 7, 7, 'micro sign in Latin-1'],
    ['\u00c2\u00b5V', [-100, 100], [-100, 100], 7, 7, 'micro sign in UTF-8'],
  ] as const;
  it.each(scalings)('%s %j for %j: %d is %d µV (%s)', (dimension, physical, digital, value, expectedUv) => {
    const signal = {
      ...cz,
      dimension,
      physical: [...physical],
      digital: [...digital],
      samples: [value],
    } as BuiltSignal;
    const { channels, warnings } = read(buildEdf('EDF', [signal]));
    expect(channels[0].samplesUv[0]).toBeCloseTo(expectedUv, 9);
    expect([channels[0].unit, warnings]).toEqual(['µV', []]);
  });

  it('keeps each channel at its own rate and in its own order', () => {
    const slow: BuiltSignal = { label: 'Slow', samplesPerRecord: 1, samples: [7, 8] };
    const { channels, format } = read(buildEdf('EDF', [cz, slow]));
    expect(format).toBe('edf');
    expect(channels.map((channel) => [channel.label, channel.sampleRateHz])).toEqual([
      ['Cz', 4],
      ['Slow', 1],
    ]);
    expect(channels.map((channel) => [...channel.samplesUv])).toEqual([cz.samples, [7, 8]]);
  });

  it('reads 24-bit samples with their sign', () => {
    const { channels, format } = read(buildEdf('BDF', [{ ...cz, samples: [-8388608, -1, 0, 8388607] }]));
    expect(format).toBe('bdf');
    expect([...channels[0].samplesUv.slice(0, 4)]).toEqual([-8388608, -1, 0, 8388607]);
  });

  it('leaves a channel that is no voltage as it is, and says so', () => {
    const { channels, warnings } = read(buildEdf('EDF', [{ ...cz, dimension: '%' }]));
    expect([channels[0].unit, channels[0].samplesUv[1]]).toEqual(['%', 1]);
    expect(warnings).toEqual(['channel Cz has unit "%", not a voltage; its numbers are left as they are']);
  });

  it('numbers channels that share a label', () => {
    const { channels, warnings } = read(buildEdf('EDF', [cz, { ...cz, label: 'Cz#2' }, cz]));
    expect(channels.map((channel) => channel.label)).toEqual(['Cz', 'Cz#2', 'Cz#3']);
    expect(warnings).toHaveLength(1);
  });

  it('says that a given rate or unit is not needed', () => {
    const { warnings } = readRecording('made.edf', buildEdf('EDF', [cz]), { sampleRateHz: 99, unit: 'mV' });
    expect(warnings).toHaveLength(2);
  });
});

describe('EDF lengths', () => {
  const whole = buildEdf('EDF', [cz], { recordCount: 3 });
  const cases: [string, Uint8Array, number, RegExp][] = [
    [
      'last record cut',
      whole.subarray(0, whole.length - 1),
      8,
      /states 3 data records, the file ends early; read the 2/,
    ],
    [
      'count open',
      buildEdf('EDF', [cz], { recordCount: 3, overrides: { recordCount: '-1' } }),
      12,
      /open \(-1\); read the 3/,
    ],
    [
      'count too small',
      buildEdf('EDF', [cz], { recordCount: 3, overrides: { recordCount: '1' } }),
      4,
      /^16 bytes after/,
    ],
    ['count too large', buildEdf('EDF', [cz], { overrides: { recordCount: '9' } }), 8, /states 9 .* read the 2/],
  ];
  it.each(cases)('%s: the complete records, and one warning', (_, bytes, sampleCount, warning) => {
    const recording = read(bytes);
    expect(recording.channels[0].samplesUv).toHaveLength(sampleCount);
    expect(recording.warnings).toHaveLength(1);
    expect(recording.warnings[0]).toMatch(warning);
  });
});

describe('broken EDF headers', () => {
  const broken = (overrides: FieldOverrides): Uint8Array => buildEdf('EDF', [cz], { overrides });
  const whole = buildEdf('EDF', [cz]);
  const cases: [string, Uint8Array, string][] = [
    ['empty', new Uint8Array(0), 'made.edf: file: must hold a recording, got 0 bytes'],
    ['cut in the first part', whole.subarray(0, 100), 'made.edf: header: must be at least 256 bytes, got 100'],
    ['cut in the signals', whole.subarray(0, 300), 'made.edf: header: must be 512 bytes, file ends at 300'],
    ['no data', whole.subarray(0, 515), 'data records: must hold at least one of 8 bytes, got 3 bytes'],
    ['zero records', broken({ recordCount: '0' }), 'data records: must hold at least one'],
    ['header bytes', broken({ headerByteCount: '511' }), 'must be 256 × (1 signals + 1) = 512, got 511'],
    ['more signals', broken({ signalCount: '2' }), 'must be 256 × (2 signals + 1) = 768, got 512'],
    ['no signals', broken({ signalCount: '0' }), 'number of signals: must be a whole number above 0, got 0'],
    ['not a number', broken({ recordDurationS: 'abc' }), 'duration of a data record: must be a number, got "abc"'],
    ['blank number', broken({ recordCount: '' }), 'number of data records: must be a number, got ""'],
    ['negative count', broken({ recordCount: '-2' }), 'must be a whole number, or -1 for unknown, got -2'],
    ['zero duration', broken({ recordDurationS: '0' }), 'duration of a data record: must be above 0 s, got 0'],
    [
      'digital',
      buildEdf('EDF', [{ ...cz, digital: [5, 5] }]),
      'signal 1 (Cz): digital minimum must be below digital maximum, got 5 and 5',
    ],
    ['physical', buildEdf('EDF', [{ ...cz, physical: [1, 1] }]), 'physical minimum and maximum must differ, got 1'],
    [
      'samples',
      buildEdf('EDF', [{ ...cz, samplesPerRecord: 0 }]),
      'samples in each data record must be a whole number above 0',
    ],
    [
      'other file',
      new TextEncoder().encode('time,Cz\n0,1\n'),
      'version: must be "0" (EDF) or byte 255 and "BIOSEMI" (BDF)',
    ],
  ];
  it.each(cases)('%s: one line with place, rule and value', (_, bytes, message) => {
    expect(() => read(bytes)).toThrow(RecordingError);
    expect(() => read(bytes)).toThrow(message);
  });
});

describe('EDF+ annotations', () => {
  it('keep onset, duration and UTF-8 text, and count from the first sample', () => {
    const signal = lists(
      '+0.25\x14\x14\x00+0.75\x150.5\x14réponse\x14click\x14\x00',
      '+1.25\x14\x14\x00+1.5\x14音\x14\x00',
    );
    const { events, format, channels, warnings } = read(buildEdf('EDF', [cz, signal], plus));
    expect([format, channels.length, warnings]).toEqual(['edf+', 1, []]);
    expect(events).toEqual([
      { timeS: 0.5, durationS: 0.5, label: 'réponse', source: 'annotation' },
      { timeS: 0.5, durationS: 0.5, label: 'click', source: 'annotation' },
      { timeS: 1.25, label: '音', source: 'annotation' },
    ]);
  });

  it('are read from BDF+ as well', () => {
    const signal = { ...lists('+0\x14\x14\x00+0.5\x14x\x14\x00', '+1\x14\x14\x00'), label: 'BDF Annotations' };
    const { events, format } = read(buildEdf('BDF', [cz, signal], { overrides: { reserved: 'BDF+C' } }));
    expect([format, events.map((event) => [event.timeS, event.label])]).toEqual(['bdf+', [[0.5, 'x']]]);
  });

  it('that cannot be read are counted, not guessed', () => {
    const { events, warnings } = read(
      buildEdf('EDF', [cz, lists('+0\x14\x14\x00oops\x00+x\x14a\x14\x00', '+1\x14\x14\x00')], plus),
    );
    expect([events, warnings]).toEqual([[], ['2 annotation entries could not be read and were left out']]);
  });

  const entries = [
    ['+1\x14a\x14', 1, 'the least'],
    ['-1.5\x14a\x14', 1, 'before the start'],
    ['+1\x15\x14a\x14', 1, 'an empty duration'],
    ['1\x14a\x14', 0, 'the sign is required'],
    ['+1\x14a', 0, 'not closed'],
    ['+1\x151\x152\x14a\x14', 0, 'two durations'],
    ['+1e9\x14a\x14', 0, 'no exponents'],
  ] as const;
  it.each(entries)('%j gives %d list (%s)', (text, count) => {
    expect(readAnnotationLists(new TextEncoder().encode(text)).lists).toHaveLength(count);
  });

  it('a discontinuous file without a pause is read', () => {
    const bytes = buildEdf('EDF', [cz, lists('+0\x14\x14\x00', '+1\x14\x14\x00')], {
      overrides: { reserved: 'EDF+D' },
    });
    expect(read(bytes).warnings).toEqual([]);
  });

  it('a discontinuous file with a pause is refused, and names the record', () => {
    const bytes = buildEdf('EDF', [cz, lists('+0\x14\x14\x00', '+5\x14\x14\x00')], {
      overrides: { reserved: 'EDF+D' },
    });
    expect(() => read(bytes)).toThrow('data record 2: must start at 1 s, where the one before ends, got 5 s');
  });

  it('a file that states to be continuous but has a pause is read with a warning', () => {
    const { warnings } = read(buildEdf('EDF', [cz, lists('+0\x14\x14\x00', '+5\x14\x14\x00')], plus));
    expect(warnings).toEqual([
      'data record 2 must start at 1 s, where the one before ends, got 5 s; read as continuous, as the header states',
    ]);
  });
});

describe('BDF status', () => {
  const cases = [
    [
      [0, 5, 5, 0, 5],
      [
        [1, '5'],
        [4, '5'],
      ],
      'one event a run',
    ],
    [[7, 7, 0, 7], [[3, '7']], 'the level at the start is no change'],
    [
      [0, 1, 2],
      [
        [1, '1'],
        [2, '2'],
      ],
      'a new bit, though the code follows another directly',
    ],
    [[0, 3, 1, 0], [[1, '3']], 'letting go of a bit is no event'],
    [[0, 0x10000, 0x10001], [[2, '1']], 'the upper 8 bits tell the state of the amplifier'],
    [[0, -8388607], [[1, '1']], 'a raised top bit makes the raw value negative'],
  ] as const; // status values, [sample, code] expected, why
  it.each(cases)('%j gives %j (%s)', (status, expected) => {
    const events = findStatusEvents(Int32Array.from(status), 1);
    expect(events.map((event) => [event.timeS, event.label])).toEqual(expected);
  });

  it('is an event source, not a channel', () => {
    const status: BuiltSignal = { label: 'Status', dimension: 'Boolean', samples: [0, 0, 9, 9, 0, 0, 0, 0] };
    const { channels, events, warnings } = read(buildEdf('BDF', [cz, status]), 'made.bdf');
    expect([channels.map((channel) => channel.label), warnings]).toEqual([['Cz'], []]);
    expect(events).toEqual([{ timeS: 0.5, label: '9', source: 'status' }]);
  });
});
