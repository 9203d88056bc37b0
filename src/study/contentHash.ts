import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, utf8ToBytes } from '@noble/hashes/utils.js';

/** SHA-256 of any JSON value, whatever the order of its keys, in hexadecimal digits. */
export function jsonHash(value: unknown): string {
  return bytesToHex(sha256(utf8ToBytes(JSON.stringify(value, sortedKeys))));
}

/** SHA-256 of a file, in hexadecimal digits. */
export function bytesHash(bytes: Uint8Array): string {
  return bytesToHex(sha256(bytes));
}

function sortedKeys(_key: string, value: unknown): unknown {
  if (typeof value !== 'object' || value === null || Array.isArray(value)) return value;
  return Object.fromEntries(Object.entries(value).sort(([a], [b]) => (a < b ? -1 : 1)));
}
