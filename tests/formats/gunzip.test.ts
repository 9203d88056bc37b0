import { gzipSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { gunzip } from '../../src/formats/gunzip.ts';
import { RecordingError, readRecording } from '../../src/formats/index.ts';

// Packed by Node's zlib: not the library that unpacks.
const text = new TextEncoder().encode('time,Cz\n'.padEnd(300_000, '0,1\n'));
const packed = new Uint8Array(gzipSync(text));

describe('gunzip', () => {
  it('gives back what was packed', () => {
    expect(gunzip('a.gz', packed)).toEqual(text);
  });

  it('joins several members', () => {
    const parts = [gzipSync(text.subarray(0, 1000)), gzipSync(text.subarray(1000))];
    expect(gunzip('a.gz', new Uint8Array(Buffer.concat(parts)))).toEqual(text);
  });

  it('works on a view into a larger buffer', () => {
    const buffer = new Uint8Array(packed.length + 10);
    buffer.set(packed, 5);
    expect(gunzip('a.gz', buffer.subarray(5, 5 + packed.length))).toEqual(text);
  });

  it('refuses a file cut anywhere', () => {
    for (const length of [2, 9, 12, packed.length >> 1, packed.length - 9, packed.length - 1]) {
      expect(() => gunzip('a.gz', packed.subarray(0, length)), `cut to ${length}`).toThrow(RecordingError);
    }
  });

  it('refuses a changed check sum, length or content', () => {
    for (let at = packed.length - 60; at < packed.length; at++) {
      const damaged = packed.slice();
      damaged[at] ^= 0x10;
      expect(() => gunzip('a.gz', damaged), `byte ${at}`).toThrow('a.gz: gzip: file is damaged or cut short');
    }
  });

  it('is told apart by content, not by name', () => {
    const { channels } = readRecording('no-extension', new Uint8Array(gzipSync('time,Cz\n0,1\n0.004,2\n')));
    expect(channels[0].sampleRateHz).toBe(250);
    expect(() => readRecording('a.gz', new Uint8Array(gzipSync('')))).toThrow('a.gz: gzip: must hold a recording');
  });
});
