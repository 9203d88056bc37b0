import type { WfdbFormat } from './wfdbHeader.ts';

/** A run of samples as stored: whole numbers, and the value that means "not recorded"; null where there is none. */
export interface StoredSamples {
  readonly values: Int32Array;
  readonly invalid: number | null;
}

/**
 * Unpacks all samples of a WFDB signal file, in the order in which they are stored.
 *
 * Source: WFDB signal specification, signal(5). Format 212 packs two samples in three bytes: the first has the first
 * byte and the low half of the second, the other has the third byte and the high half of the second.
 *
 * @returns the samples that are complete; a torn last one is left out
 * @example unpackWfdbSamples(Uint8Array.of(0x01, 0xf2, 0xfe), 212).values // [513, -2]
 */
export function unpackWfdbSamples(bytes: Uint8Array, format: WfdbFormat): StoredSamples {
  switch (format) {
    case 16:
      return { values: whole(bytes, 2, (at) => ((bytes[at] | (bytes[at + 1] << 8)) << 16) >> 16), invalid: -32768 };
    case 61:
      return { values: whole(bytes, 2, (at) => ((bytes[at + 1] | (bytes[at] << 8)) << 16) >> 16), invalid: -32768 };
    case 24:
      return {
        values: whole(bytes, 3, (at) => ((bytes[at] | (bytes[at + 1] << 8) | (bytes[at + 2] << 16)) << 8) >> 8),
        invalid: -8388608,
      };
    case 32:
      return {
        values: whole(
          bytes,
          4,
          (at) => bytes[at] | (bytes[at + 1] << 8) | (bytes[at + 2] << 16) | (bytes[at + 3] << 24),
        ),
        invalid: -2147483648,
      };
    case 80:
      return { values: whole(bytes, 1, (at) => bytes[at] - 128), invalid: -128 };
    case 212:
      return { values: pairs(bytes), invalid: -2048 };
    default:
      return format satisfies never;
  }
}

function whole(bytes: Uint8Array, width: number, read: (at: number) => number): Int32Array {
  const values = new Int32Array(Math.floor(bytes.length / width));
  for (let i = 0; i < values.length; i++) values[i] = read(i * width);
  return values;
}

function pairs(bytes: Uint8Array): Int32Array {
  // Two bytes left over hold one more sample.
  const values = new Int32Array(2 * Math.floor(bytes.length / 3) + (bytes.length % 3 === 2 ? 1 : 0));
  for (let i = 0; i < values.length; i++) {
    const at = 3 * (i >> 1);
    const bits =
      i % 2 === 0 ? bytes[at] | ((bytes[at + 1] & 0x0f) << 8) : bytes[at + 2] | ((bytes[at + 1] & 0xf0) << 4);
    values[i] = (bits << 20) >> 20;
  }
  return values;
}
