import { Gunzip } from 'fflate';
import { RecordingError } from './recordingError.ts';

// our choice: far above any recording, far below what would exhaust a browser tab
const MAXIMUM_BYTES = 1 << 30;
// our choice: small steps, so that a hostile file is stopped soon after it passes the limit
const CHUNK_BYTES = 1 << 16;

/** Whether the bytes begin like a gzip file (RFC 1952, section 2.3.1). */
export function isGzip(bytes: Uint8Array): boolean {
  return bytes[0] === 0x1f && bytes[1] === 0x8b;
}

/**
 * Unpacks a gzip file of one or several members, and checks each member's CRC-32 and length.
 *
 * The inflating library does not look at the check sums, so a flipped bit would otherwise become a flipped sample.
 *
 * @throws {RecordingError} if the file is damaged, cut short or unpacks to more than 1 GiB
 * @example gunzip('a.csv.gz', packed) // the bytes of a.csv
 */
export function gunzip(fileName: string, packed: Uint8Array): Uint8Array {
  const chunks: Uint8Array[] = [];
  let byteCount = 0;
  let memberCrc = CRC_START;
  let memberByteCount = 0;

  const closeMember = (endOffset: number): void => {
    const trailer = new DataView(packed.buffer, packed.byteOffset + endOffset - 8, 8);
    if (trailer.getUint32(0, true) !== (memberCrc ^ CRC_START) >>> 0) throw damaged(fileName, 'check sum must match');
    if (trailer.getUint32(4, true) !== memberByteCount % 2 ** 32) throw damaged(fileName, 'length must match');
    memberCrc = CRC_START;
    memberByteCount = 0;
  };

  const inflater = new Gunzip((chunk) => {
    byteCount += chunk.length;
    if (byteCount > MAXIMUM_BYTES) {
      throw new RecordingError(fileName, 'gzip', `must unpack to at most ${MAXIMUM_BYTES} bytes`);
    }
    memberCrc = crc32(memberCrc, chunk);
    memberByteCount += chunk.length;
    chunks.push(chunk);
  });
  inflater.onmember = closeMember; // called where a second or later member begins

  try {
    for (let start = 0; start < packed.length; start += CHUNK_BYTES) {
      const end = Math.min(start + CHUNK_BYTES, packed.length);
      inflater.push(packed.subarray(start, end), end === packed.length);
    }
    closeMember(packed.length);
  } catch (error) {
    if (error instanceof RecordingError) throw error;
    throw damaged(fileName, error instanceof Error ? error.message : String(error));
  }

  const unpacked = new Uint8Array(byteCount);
  let offset = 0;
  for (const chunk of chunks) {
    unpacked.set(chunk, offset);
    offset += chunk.length;
  }
  return unpacked;
}

function damaged(fileName: string, rule: string): RecordingError {
  return new RecordingError(fileName, 'gzip', `file is damaged or cut short (${rule})`);
}

const CRC_START = 0xffffffff;
const crcTable = makeCrcTable();

/** CRC-32 as RFC 1952, section 8, writes it; the caller inverts at the start and at the end. */
function crc32(crc: number, bytes: Uint8Array): number {
  let value = crc;
  for (let i = 0; i < bytes.length; i++) value = crcTable[(value ^ bytes[i]) & 0xff] ^ (value >>> 8);
  return value;
}

function makeCrcTable(): Int32Array {
  const table = new Int32Array(256);
  for (let n = 0; n < 256; n++) {
    let value = n;
    for (let bit = 0; bit < 8; bit++) value = value & 1 ? 0xedb88320 ^ (value >>> 1) : value >>> 1;
    table[n] = value;
  }
  return table;
}
