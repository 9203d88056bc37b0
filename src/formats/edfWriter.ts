/** One signal of a file to be written. */
interface WrittenSignal {
  /** At most 16 characters of ASCII, as the three fields after it at most 80. */
  readonly label: string;
  readonly transducer: string;
  readonly prefiltering: string;
  /** Largest size that can be stored, ± µV; larger samples are stored as this. */
  readonly limitUv: number;
}

/** What an EDF+ or BDF+ file says about itself. All signals have one sampling rate and are in µV. */
export interface EdfDescription {
  readonly format: 'edf+' | 'bdf+';
  readonly sampleRateHz: number;
  readonly signals: readonly WrittenSignal[];
  /** Subfields after "Startdate X": no spaces within one; they are left out from the right where 80 characters are full. */
  readonly recordingFields: readonly string[];
  /** Most bytes that the annotations of one data record take. */
  readonly annotationByteCount: number;
}

/** A text at a time. */
export interface WrittenAnnotation {
  /** From the first sample. */
  readonly onsetS: number;
  readonly durationS?: number;
  readonly text: string;
}

/** Writes one file, data record by data record. */
export interface EdfWriter {
  readonly samplesPerRecord: number;
  /** The header; pass -1 while the number of data records is not known yet. */
  header(recordCount: number): Uint8Array;
  /**
   * Writes the next data record.
   *
   * @param signalsUv - `samplesPerRecord` samples of each signal
   * @throws {RangeError} if the annotations need more bytes than the description allows
   */
  record(signalsUv: readonly Float64Array[], annotations: readonly WrittenAnnotation[]): Uint8Array;
  /** Samples so far that were beyond their signal's limit. */
  clippedCount(): number;
}

/** Where the number of data records stands in a header: written anew when it is known. */
export const RECORD_COUNT_FIELD = { offset: 236, width: 8 } as const;

/**
 * Makes a writer of EDF+ or BDF+ files, continuous, in µV.
 *
 *     digital = round(µV · L / limit),   L = 32767 (EDF+) or 8388607 (BDF+)
 *
 * The digital range is symmetric, so that 0 µV is stored as 0. Layout: Kemp et al. 1992 (EDF), Kemp and Olivan 2003
 * (EDF+); BDF+ is the same with 3 bytes a sample. No date is written: a simulated recording has none, and the same
 * recording must give the same file.
 *
 * @throws {RangeError} for a sampling rate that no data record can hold in whole samples
 */
export function edfWriter(description: EdfDescription): EdfWriter {
  const { format, sampleRateHz, signals } = description;
  const isBdf = format === 'bdf+';
  const bytesPerSample = isBdf ? 3 : 2;
  const largest = isBdf ? 8388607 : 32767;
  const { recordDurationS, samplesPerRecord } = layOutRecord(sampleRateHz, signals.length * bytesPerSample);
  const clockByteCount = 2 + TIME_DIGITS + 3; // "+", the record's own time, 0x14 0x14 0
  const annotationSampleCount = Math.ceil((clockByteCount + description.annotationByteCount) / bytesPerSample);
  const signalByteCount = samplesPerRecord * bytesPerSample;
  const recordByteCount = signals.length * signalByteCount + annotationSampleCount * bytesPerSample;
  const encoder = new TextEncoder();
  const limitsUv = signals.map(({ limitUv }) => Math.ceil(limitUv));
  let recordIndex = 0;
  let clipped = 0;

  function header(recordCount: number): Uint8Array {
    const signalCount = signals.length + 1;
    const columns = (width: number, values: readonly (string | number)[], annotation: string | number) =>
      [...values, annotation].map((value) => field(value, width)).join('');
    const each = (pick: (signal: WrittenSignal, c: number) => string | number) => signals.map(pick);
    const text =
      (isBdf ? '\xffBIOSEMI' : field('0', 8)) +
      field('X X X X', 80) +
      field(`Startdate X ${fitting(description.recordingFields, 80 - 12)}`, 80) +
      '01.01.8500.00.00' + // EDF+ 2.1.3.4: the date of a file whose date is not known
      field(256 * (signalCount + 1), 8) +
      field(isBdf ? 'BDF+C' : 'EDF+C', 44) +
      field(recordCount, 8) +
      field(recordDurationS, 8) +
      field(signalCount, 4) +
      columns(
        16,
        each(({ label }) => label),
        isBdf ? 'BDF Annotations' : 'EDF Annotations',
      ) +
      columns(
        80,
        each(({ transducer }) => transducer),
        '',
      ) +
      columns(
        8,
        each(() => 'uV'),
        '',
      ) +
      columns(
        8,
        each((_, c) => -limitsUv[c]),
        -1,
      ) +
      columns(
        8,
        each((_, c) => limitsUv[c]),
        1,
      ) +
      columns(
        8,
        each(() => -largest),
        -largest - 1,
      ) +
      columns(
        8,
        each(() => largest),
        largest,
      ) +
      columns(
        80,
        each(({ prefiltering }) => prefiltering),
        '',
      ) +
      columns(
        8,
        each(() => samplesPerRecord),
        annotationSampleCount,
      ) +
      columns(
        32,
        each(() => ''),
        '',
      );
    return Uint8Array.from(text, (character) => character.charCodeAt(0));
  }

  return {
    samplesPerRecord,
    header,
    record(signalsUv, annotations) {
      const bytes = new Uint8Array(recordByteCount);
      let at = 0;
      for (const [c, signalUv] of signalsUv.entries()) {
        const perUv = largest / limitsUv[c];
        for (let i = 0; i < samplesPerRecord; i++) {
          let digital = Math.round(signalUv[i] * perUv);
          if (!(digital >= -largest && digital <= largest)) {
            digital = digital > 0 ? largest : -largest;
            clipped++;
          }
          bytes[at++] = digital & 0xff;
          bytes[at++] = (digital >> 8) & 0xff;
          if (isBdf) bytes[at++] = (digital >> 16) & 0xff;
        }
      }
      const clock = `+${timeText((recordIndex * samplesPerRecord) / sampleRateHz)}\x14\x14\0`;
      const lists = encoder.encode(clock + annotations.map(annotationList).join(''));
      const room = recordByteCount - at;
      if (lists.length > room) {
        throw new RangeError(`edfWriter: annotations of a record must fit in ${room} bytes, got ${lists.length}`);
      }
      bytes.set(lists, at);
      recordIndex++;
      return bytes;
    },
    clippedCount: () => clipped,
  };
}

/** Bytes that an annotation takes in a file, at most. */
export function annotationByteCount({ durationS, text }: Omit<WrittenAnnotation, 'onsetS'>): number {
  const stamp = 2 + TIME_DIGITS + (durationS === undefined ? 0 : 1 + TIME_DIGITS);
  return stamp + new TextEncoder().encode(plain(text)).length + 3;
}

const TIME_DIGITS = 14; // six for seconds (eleven days), the point, seven decimals
const LONGEST_RECORD_BYTES = 61440; // EDF specification: larger records are split into shorter ones
const RECORD_DURATIONS_S = [1, 0.5, 0.25, 0.2, 0.125, 0.1, 0.05, 0.025, 0.02, 0.01];

function layOutRecord(sampleRateHz: number, bytesPerInstant: number) {
  const fits = RECORD_DURATIONS_S.filter((durationS) =>
    Number.isInteger(Number((durationS * sampleRateHz).toFixed(6))),
  );
  if (fits.length === 0) {
    const rule = `sampleRateHz must give a record of ${RECORD_DURATIONS_S.join(', ')} s whole samples`;
    throw new RangeError(`edfWriter: ${rule}, got ${sampleRateHz}`);
  }
  const small = fits.find((durationS) => durationS * sampleRateHz * bytesPerInstant <= LONGEST_RECORD_BYTES);
  const recordDurationS = small ?? fits[fits.length - 1];
  return { recordDurationS, samplesPerRecord: Math.round(recordDurationS * sampleRateHz) };
}

function annotationList({ onsetS, durationS, text }: WrittenAnnotation): string {
  const stamp = `${onsetS < 0 ? '-' : '+'}${timeText(Math.abs(onsetS))}`;
  return `${stamp}${durationS === undefined ? '' : `\x15${timeText(durationS)}`}\x14${plain(text)}\x14\0`;
}

/** Seconds to 0.1 µs, without trailing zeros: the finest that common readers keep. */
function timeText(seconds: number): string {
  return String(Number(seconds.toFixed(7)));
}

/** Control characters end an annotation, so none may stand within. */
function plain(text: string): string {
  return text.replace(/\p{Cc}+/gu, ' ').trim();
}

function field(value: string | number, width: number): string {
  return String(value)
    .replace(/[^\x20-\x7e]/g, '?')
    .padEnd(width)
    .slice(0, width);
}

/** As many subfields as there is room for, parted by spaces. */
function fitting(fields: readonly string[], width: number): string {
  let text = '';
  for (const entry of fields) {
    const next = `${text}${text === '' ? '' : ' '}${entry.replace(/\s+/g, '_')}`;
    if (next.length > width) break;
    text = next;
  }
  return text;
}
