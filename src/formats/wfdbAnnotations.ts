/** One annotation of a WFDB record, before its time is turned into seconds. */
export interface WfdbAnnotation {
  /** In ticks: frames of the record, unless the file states a resolution of its own. */
  readonly tick: number;
  readonly label: string;
}

/**
 * Reads a WFDB annotation file (.atr and the like), in the format that its tools write.
 *
 *     each annotation is 16 bits, low byte first: 6 bits of code, 10 bits of time since the one before;
 *     codes 59 skip, 60 number, 61 subtype, 62 channel, 63 text belong to what is around them; 0 0 ends the file
 *
 * Source: WFDB annotation specification, annot(5). The label is the text where there is one, else the code's letter.
 *
 * @returns the annotations in order, and the ticks per second that the file states, if it does
 * @example readWfdbAnnotations(Uint8Array.of(0x12, 0x04, 0, 0)).annotations // [{ tick: 18, label: 'N' }]
 */
export function readWfdbAnnotations(bytes: Uint8Array): { annotations: WfdbAnnotation[]; ticksPerS: number | null } {
  const annotations: { tick: number; code: number; text: string }[] = [];
  const decoder = new TextDecoder();
  let tick = 0;
  for (let at = 0; at + 1 < bytes.length; ) {
    const word = bytes[at] | (bytes[at + 1] << 8);
    const code = word >> 10;
    const value = word & 0x3ff;
    at += 2;
    if (word === 0) break;
    if (code === SKIP) {
      // Four bytes of time: the upper half first, each half low byte first.
      tick += bytes[at + 2] | (bytes[at + 3] << 8) | (bytes[at] << 16) | (bytes[at + 1] << 24);
      at += 4;
    } else if (code === TEXT) {
      const last = annotations[annotations.length - 1];
      if (last)
        last.text = decoder
          .decode(bytes.subarray(at, at + value))
          .replace(/\0+$/, '')
          .trim();
      at += value + (value % 2);
    } else if (code < NUMBER) {
      tick += value;
      annotations.push({ tick, code, text: '' });
    }
  }
  let ticksPerS: number | null = null;
  const kept = annotations.filter(({ tick: at, code, text }) => {
    const stated = code === NOTE && at === 0 ? /^## time resolution: ([\d.]+)/.exec(text) : null;
    if (stated) ticksPerS = Number(stated[1]);
    return !(code === NOTE && text.startsWith('## '));
  });
  return {
    annotations: kept.map(({ tick: at, code, text }) => ({
      tick: at,
      label: text || (LETTERS[code] ?? `code ${code}`),
    })),
    ticksPerS,
  };
}

const NOTE = 22;
const SKIP = 59;
const NUMBER = 60;
const TEXT = 63;

/** Letters of the codes, by their number; WFDB application guide, table of annotation codes. */
const LETTERS: Readonly<Record<number, string>> = {
  ...{ 1: 'N', 2: 'L', 3: 'R', 4: 'a', 5: 'V', 6: 'F', 7: 'J', 8: 'A', 9: 'S', 10: 'E', 11: 'j', 12: '/', 13: 'Q' },
  ...{ 14: '~', 16: '|', 18: 's', 19: 'T', 20: '*', 21: 'D', 22: '"', 23: '=', 24: 'p', 25: 'B', 26: '^', 27: 't' },
  ...{ 28: '+', 29: 'u', 30: '?', 31: '!', 32: '[', 33: ']', 34: 'e', 35: 'n', 36: '@', 37: 'x', 38: 'f', 39: '(' },
  ...{ 40: ')', 41: 'r' },
};
