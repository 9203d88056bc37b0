import { describe, expect, it } from 'vitest';
import { parseColumnName } from '../../src/formats/columnName.ts';
import { findDelimiter } from '../../src/formats/delimiter.ts';
import { type ReadRecordingOptions, type Recording, RecordingError, readRecording } from '../../src/formats/index.ts';

const read = (text: string, options?: ReadRecordingOptions): Recording =>
  readRecording('made.csv', new TextEncoder().encode(text), options);
const line = (k: number): string => `${(k * 0.004).toFixed(3)},${k},${k % 50 === 25 ? 2 : 0}`;
const lines = (count: number): string[] => ['time,Cz,Mark', ...Array.from({ length: count }, (_, k) => line(k))];

describe('delimited text', () => {
  const layouts = [
    ['time,Cz\n0,1.5\n0.01,2\n0.02,-3\n', 'comma'],
    ['time\tCz\r\n0\t1.5\r\n0.01\t2\r\n0.02\t-3\r\n', 'tab, Windows line ends'],
    ['time;Cz\n0;1,5\n0,01;2\n0,02;-3\n', 'semicolon with decimal comma'],
    ['time\tCz\n0\t1,5\n0,01\t2\n0,02\t-3', 'tab with decimal comma, no line end at the end'],
    ['time Cz\n0   1.5\n0.01 2\n0.02   -3\n', 'runs of spaces'],
    ['"time", "Cz"\n0, "1.5"\n0.01, 2\n0.02, -3\n\n\n', 'quotes, spaces after commas, blank lines at the end'],
    ['\ufeff# made up\n% twice\ntime,Cz\n0,1.5\n0.01,2\n0.02,-3e0\n', 'byte order mark and comments'],
    ['time,Cz,\n0,1.5,\n0.01,2,\n0.02,-3,\n', 'delimiter at the end of each line'],
  ] as const;
  it.each(layouts)('%j (%s)', (text) => {
    const { channels } = read(text);
    expect(channels.map((channel) => [channel.label, channel.sampleRateHz])).toEqual([['Cz', 100]]);
    expect([...channels[0].samplesUv]).toEqual([1.5, 2, -3]);
  });

  it('UTF-16 with a byte order mark is read', () => {
    const text = '\ufefftime,Cz\n0,1\n0.01,2\n';
    const bytes = new Uint8Array(Uint16Array.from(text, (character) => character.charCodeAt(0)).buffer);
    expect([...readRecording('made.csv', bytes).channels[0].samplesUv]).toEqual([1, 2]);
  });

  it('without names columns are numbered, and an evenly rising first one is the time', () => {
    const { channels } = read('0.01 5 6\n0.02 7 8\n0.03 9 1\n');
    expect(channels.map((channel) => [channel.label, channel.sampleRateHz])).toEqual([
      ['column-2', 100],
      ['column-3', 100],
    ]);
  });

  it('without names a count of samples is not taken for time', () => {
    expect(() => read('0 5\n1 7\n2 9\n')).toThrow(
      'must include time (or timestamps, or t) unless a sampling rate is given',
    );
  });

  it('a single column needs the sampling rate', () => {
    const { channels } = read('5\n7\n9\n', { sampleRateHz: 512 });
    expect([channels[0].label, channels[0].sampleRateHz, [...channels[0].samplesUv]]).toEqual([
      'column-1',
      512,
      [5, 7, 9],
    ]);
  });

  it('units come from the name, else from the setting, else are µV', () => {
    const text = 'time [ms],A (mV),B\n0,1,2\n2,3,4\n';
    expect(read(text).channels.map((channel) => channel.samplesUv[0])).toEqual([1000, 2]);
    expect(read(text, { unit: 'nV' }).channels.map((channel) => channel.samplesUv[0])).toEqual([1000, 0.002]);
    expect(read(text).channels[0].sampleRateHz).toBe(500);
  });

  it('large steps without a unit are milliseconds, with a warning', () => {
    const { channels, warnings } = read('t,A\n0,1\n0.5,3\n1,4\n');
    expect([channels[0].sampleRateHz, warnings]).toEqual([2000, [expect.stringContaining('read as milliseconds')]]);
  });

  it('a given rate must agree with the time column', () => {
    const text = lines(100).join('\n');
    expect(read(text, { sampleRateHz: 251 }).channels[0].sampleRateHz).toBe(251);
    expect(() => read(text, { sampleRateHz: 500 })).toThrow('which says 250 Hz, got 500');
  });

  it('a column of words is left out with a warning', () => {
    const { channels, warnings } = read('time,Cz,note\n0,1,rest\n0.004,2,rest\n');
    expect(channels.map((channel) => channel.label)).toEqual(['Cz']);
    expect(warnings).toEqual(['column note holds no numbers and was left out']);
  });

  it('a last line that is cut off is left out with a warning', () => {
    const { channels, warnings } = read(`${lines(20).join('\n')}\n0.0`);
    expect(channels[0].samplesUv).toHaveLength(20);
    expect(warnings).toEqual(['line 22, the last, is cut off and was left out']);
  });
});

describe('broken and missing lines', () => {
  const edited = (edit: (all: string[]) => void): string => {
    const all = lines(500);
    edit(all);
    return all.join('\n');
  };

  it('a cell that is not a number is filled with the one before it, marked and told', () => {
    const { channels, missing, warnings } = read(edited((all) => all.splice(101, 1, '0.400,NaN,0')));
    expect([channels[0].samplesUv[99], channels[0].samplesUv[100], channels[0].samplesUv[101]]).toEqual([99, 99, 101]);
    expect(missing).toEqual([{ startS: 100 / 250, endS: 101 / 250 }]);
    expect(warnings).toEqual([
      'line 102 (Cz): must be a number, got "NaN" (of 500 samples 1 are broken and 0 absent: filled in and marked as missing)',
    ]);
  });

  it('absent lines are found by their time, so that the samples after them keep theirs', () => {
    const { channels, missing, warnings } = read(edited((all) => all.splice(201, 3)));
    expect(channels[0].samplesUv).toHaveLength(500);
    expect([...channels[0].samplesUv.slice(198, 205)]).toEqual([198, 199, 199, 199, 199, 203, 204]);
    expect(missing).toEqual([{ startS: 200 / 250, endS: 203 / 250 }]);
    expect(warnings[0]).toMatch(
      /^line 202: must follow the line before it in time, but between them 3 samples are missing/,
    );
  });

  it('neighbouring losses of both kinds make one span', () => {
    const { missing } = read(edited((all) => all.splice(201, 2, '0.804,1')));
    expect(missing).toEqual([{ startS: 200 / 250, endS: 202 / 250 }]);
  });

  it('filling invents no marker code', () => {
    const { channels } = read(edited((all) => all.splice(27, 1, '0.104,x,0')));
    expect(new Set(channels[1].samplesUv)).toEqual(new Set([0, 2]));
  });

  const refused: [string, string, string][] = [
    [
      'too many broken',
      edited((all) => all.splice(11, 6, ...Array(6).fill('0.040,?,0'))),
      'line 12 (Cz): must be a number, got "?" (of 500 samples 6 are broken and 0 absent: more than 1 in 100)',
    ],
    [
      'too many absent',
      edited((all) => all.splice(11, 20)),
      'line 12: must follow the line before it in time, but between them 20 samples are missing',
    ],
    [
      'ragged throughout',
      'time,Cz\n0,1,2\n0.004,1,2\n',
      'names do not match the lines of numbers: line 2 must have 2 cells, got 3',
    ],
    ['empty cell', 'time,Cz\n0,1\n0.004,\n0.008,2\n', 'line 3 (Cz): must be a number, got an empty cell'],
    ['infinite', 'time,Cz\n0,1\n0.004,Infinity\n0.008,2\n', 'line 3 (Cz): must be a number, got "Infinity"'],
    [
      'backward for good',
      edited((all) => all.splice(301, 0, ...all.slice(1, 201))),
      'line 302, time column: times must rise, got 0 s after 1.196 s',
    ],
    ['constant time', 'time,Cz\n1,1\n1,2\n1,3\n', 'line 2, time column: times must rise from row to row'],
    ['falling time', 'time,Cz\n3,1\n2,2\n1,3\n', 'times must rise'],
    [
      'two rates',
      ['time,Cz', ...Array.from({ length: 1000 }, (_, k) => `${k < 500 ? k * 0.004 : 2 + (k - 500) * 0.002},1`)].join(
        '\n',
      ),
      'sampling rate must be constant',
    ],
    [
      'dates as time',
      'time,Cz\n12:00:01,1\n12:00:02,2\n',
      'line 2, column time: must be a number, got "12:00:01" (s or ms)',
    ],
    ['names only', 'time,Cz\n', 'text: must hold lines of numbers, got none'],
    ['no line', '\n\n', 'text: must hold lines of numbers, got none'],
    ['one row', 'time,Cz\n0,1\n', 'must be followed by another time, got 1 row'],
    [
      'no time column',
      'A,B\n1,2\n3,4\n',
      'columns: must include time (or timestamps, or t) unless a sampling rate is given, got A, B',
    ],
    ['time only', 'time\n0\n1\n', 'columns: must include a signal of numbers, got time'],
  ];
  it.each(refused)('%s: refused in one line', (_, text, message) => {
    expect(() => read(text)).toThrow(RecordingError);
    expect(() => read(text)).toThrow(message);
  });

  const refusedWithoutTime = [
    ['Cz\n1\nx\n3\n', 'line 3 (Cz): must be a number, got "x"'],
    ['A,B\n1,2\n3\n4,5\n', 'line 3 (A): must have 2 cells, got 1'],
    ['A,B\n1,2\n\n4,5\n', 'must have no blank lines between samples unless it has a time column, got 1'],
  ] as const;
  it.each(refusedWithoutTime)('without a time column %j is refused', (text, message) => {
    expect(() => read(text, { sampleRateHz: 250 })).toThrow(message);
  });

  it('wrong settings are refused', () => {
    expect(() => read('t,A\n0,1\n', { sampleRateHz: Number.NaN })).toThrow('sampling rate: must be > 0 Hz, got NaN');
    expect(() => read('t,A\n0,1\n', { unit: 'kV' })).toThrow('unit: must be one of nV, µV, mV, V, got "kV"');
  });
});

describe('times', () => {
  const timed = (times: readonly number[], digits: number): string =>
    ['time,Cz', ...times.map((timeS, k) => `${timeS.toFixed(digits)},${k}`)].join('\n');

  it('rounded to 1 ms still tell 1024 Hz and show a missing line', () => {
    const times = Array.from({ length: 4096 }, (_, k) => k / 1024);
    const { channels, warnings } = read(timed(times, 3));
    expect([channels[0].sampleRateHz, warnings]).toEqual([1024, []]);
  });

  it('rates that are no whole number stay as they are', () => {
    const times = Array.from({ length: 4096 }, (_, k) => k / 250.4);
    // Rounding to 0.1 ms at both ends of 16.4 s: 250.4 × 1e-4 / 16.4 = 0.0015 Hz.
    expect(Math.abs(read(timed(times, 4)).channels[0].sampleRateHz - 250.4)).toBeLessThan(0.0015);
  });

  it('packets that come late do not count as missing lines', () => {
    // Packets of 12: every fifth comes 30 ms late, so times step back after it.
    const times = Array.from({ length: 3000 }, (_, k) => k / 256 + (Math.floor(k / 12) % 5 === 0 ? 0.03 : 0));
    const { channels, missing, warnings } = read(timed(times, 3));
    expect([channels[0].sampleRateHz, channels[0].samplesUv.length, missing]).toEqual([256, 3000, []]);
    expect(warnings).toEqual([expect.stringContaining('the time column is uneven')]);
  });

  it('a second lost among late packets is found', () => {
    const times = Array.from({ length: 60000 }, (_, k) => k / 256 + (Math.floor(k / 12) % 5 === 0 ? 0.03 : 0));
    times.splice(30000, 256);
    const { channels, missing } = read(timed(times, 3));
    // Found by medians of blocks, so to within the lateness of a packet: 0.03 s × 256 Hz = 8 samples.
    expect(Math.abs(channels[0].samplesUv.length - 60000)).toBeLessThanOrEqual(8);
    expect(missing).toHaveLength(1);
  });
});

describe('names and delimiters', () => {
  const names = [
    ['timestamps', { label: 'timestamps', isTime: true }],
    ['Time (ms)', { label: 'Time', isTime: true, secondsPerUnit: 1e-3 }],
    ['time_s', { label: 'time_s', isTime: true, secondsPerUnit: 1 }],
    ['seconds', { label: 'seconds', isTime: true, secondsPerUnit: 1 }],
    ['Cz (mV)', { label: 'Cz', isTime: false, scaleUv: 1000 }],
    ['Cz (left)', { label: 'Cz (left)', isTime: false }],
    ['S', { label: 'S', isTime: false }],
    ['T8', { label: 'T8', isTime: false }],
  ] as const;
  it.each(names)('%s', (name, expected) => {
    expect(parseColumnName(name)).toEqual(expected);
  });

  it('a comma inside numbers is not the delimiter where a semicolon is', () => {
    expect(findDelimiter(['1,5;2,5', '1,5;2,5'])).toEqual({ character: ';', decimalComma: true });
    expect(findDelimiter(['1', '2'])).toEqual({ character: ',', decimalComma: false });
  });
});
