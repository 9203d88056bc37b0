/** One time-stamped annotation list (TAL) of an EDF+ or BDF+ file. */
export interface AnnotationList {
  /** Seconds from the file's start time. */
  readonly onsetS: number;
  readonly durationS?: number;
  /** Empty for a list that only keeps the time of its data record. */
  readonly texts: readonly string[];
}

const ONSET = /^[+-]\d+(\.\d*)?$/;
const DURATION = /^\d+(\.\d*)?$/;

/**
 * Reads the annotation lists of one data record's annotation signal (EDF+ specification, section 2.2.2).
 *
 *     onset [0x15 duration] 0x14 text 0x14 text 0x14 ... 0x00      texts in UTF-8
 *
 * @param bytes - that signal's bytes within one data record; unused bytes are 0
 * @returns the lists in the file's order, and how many could not be read
 * @example readAnnotationLists(new TextEncoder().encode('+1.5\x150.2\x14click\x14\0')).lists
 * // [{ onsetS: 1.5, durationS: 0.2, texts: ['click'] }]
 */
export function readAnnotationLists(bytes: Uint8Array): { lists: AnnotationList[]; unreadableCount: number } {
  const lists: AnnotationList[] = [];
  let unreadableCount = 0;
  const decoder = new TextDecoder();
  let start = 0;
  while (start < bytes.length) {
    if (bytes[start] === 0) {
      start++;
      continue;
    }
    const zero = bytes.indexOf(0, start);
    const end = zero < 0 ? bytes.length : zero;
    const list = readAnnotationList(decoder.decode(bytes.subarray(start, end)));
    if (list) lists.push(list);
    else unreadableCount++;
    start = end + 1;
  }
  return { lists, unreadableCount };
}

function readAnnotationList(text: string): AnnotationList | undefined {
  const [stamp, ...rest] = text.split('\x14');
  if (rest.length === 0 || rest.pop() !== '') return undefined; // a list ends with 0x14
  const [onset, duration, ...tooMany] = stamp.split('\x15');
  if (tooMany.length > 0 || !ONSET.test(onset)) return undefined;
  if (duration !== undefined && duration !== '' && !DURATION.test(duration)) return undefined;
  const texts = rest.map((annotation) => annotation.trim()).filter((annotation) => annotation !== '');
  return duration ? { onsetS: Number(onset), durationS: Number(duration), texts } : { onsetS: Number(onset), texts };
}
