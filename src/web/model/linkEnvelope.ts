/** Longest link that stays readable; a longer one is packed. Our choice: it fits a line of a message or two. */
const READABLE_LENGTH = 240;
const VERSION = '1';

/**
 * Wraps the text of a link so that it tells its version and whether it arrived whole; a long one is packed.
 *
 *     v=1 & text & check        or        v=1 & packed=… & check
 *
 * The check is the CRC-32 of the text. Packed is the text through raw deflate, in base64 with - and _.
 *
 * @param text - parameters, as `scenarioLink` writes them
 * @example await wrapLink('scenario=quiet-sleeper&seed=7') // 'v=1&scenario=quiet-sleeper&seed=7&check=1f0c0e7b'
 */
export async function wrapLink(text: string): Promise<string> {
  const check = checkOf(text);
  if (text.length <= READABLE_LENGTH) return `v=${VERSION}&${text}&check=${check}`;
  const packed = await through(new TextEncoder().encode(text), new CompressionStream('deflate-raw'));
  return `v=${VERSION}&packed=${toBase64(packed)}&check=${check}`;
}

/**
 * Unwraps what `wrapLink` wrote; a text without a version was written by hand and is taken as it is.
 *
 * @param hash - the part of an address after `#`, with or without it
 * @returns the parameters
 * @throws {RangeError} for a version of another lab, or a link that is damaged or cut
 */
export async function unwrapLink(hash: string): Promise<string> {
  const whole = hash.replace(/^#/, '');
  const version = /^v=([^&]*)(?:&|$)/.exec(whole);
  if (!version) return whole;
  if (version[1] !== VERSION) throw new RangeError(`its version must be ${VERSION}, got ${version[1].slice(0, 20)}`);
  const parts = /^v=1&(.*)&check=([0-9a-f]{8})$/s.exec(whole);
  const text = parts === null ? null : await unpacked(parts[1]);
  if (parts === null || text === null || checkOf(text) !== parts[2]) {
    throw new RangeError(`damaged or cut (${whole.length} characters arrived); copy it again, whole`);
  }
  return text;
}

async function unpacked(content: string): Promise<string | null> {
  if (!content.startsWith('packed=')) return content;
  try {
    const bytes = await through(fromBase64(content.slice(7)), new DecompressionStream('deflate-raw'));
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    return null;
  }
}

const MAXIMUM_BYTES = 1e6; // our choice: a bench is a few kilobytes; a small link must not unpack into a flood

async function through(
  bytes: Uint8Array<ArrayBuffer>,
  transform: GenericTransformStream,
): Promise<Uint8Array<ArrayBuffer>> {
  const reader = new Blob([bytes])
    .stream()
    .pipeThrough(transform as ReadableWritablePair<Uint8Array, Uint8Array>)
    .getReader();
  const chunks: Uint8Array[] = [];
  let length = 0;
  for (let read = await reader.read(); !read.done; read = await reader.read()) {
    chunks.push(read.value);
    length += read.value.length;
    if (length > MAXIMUM_BYTES) throw new RangeError(`must unpack to at most ${MAXIMUM_BYTES} bytes`);
  }
  const whole = new Uint8Array(length);
  let at = 0;
  for (const chunk of chunks) {
    whole.set(chunk, at);
    at += chunk.length;
  }
  return whole;
}

function toBase64(bytes: Uint8Array): string {
  let text = '';
  for (const byte of bytes) text += String.fromCharCode(byte);
  return btoa(text).replaceAll('+', '-').replaceAll('/', '_').replace(/=+$/, '');
}

function fromBase64(text: string): Uint8Array<ArrayBuffer> {
  return Uint8Array.from(atob(text.replaceAll('-', '+').replaceAll('_', '/')), (letter) => letter.charCodeAt(0));
}

/** CRC-32 as in ISO 3309, eight hexadecimal digits: changes with every slip of a few letters. */
function checkOf(text: string): string {
  let crc = 0xffffffff;
  for (const byte of new TextEncoder().encode(text)) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit++) crc = (crc >>> 1) ^ (crc & 1 ? 0xedb88320 : 0);
  }
  return ((crc ^ 0xffffffff) >>> 0).toString(16).padStart(8, '0');
}
