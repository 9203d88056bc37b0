/** A signal for `buildEdf`: digital samples record by record, or annotation lists. */
export interface BuiltSignal {
  label: string;
  dimension?: string;
  transducer?: string;
  physical?: [number, number];
  digital?: [number, number];
  samplesPerRecord?: number;
  samples?: readonly number[];
  /** One text per record; lists are written with the control characters in place. */
  lists?: readonly string[];
}

/** Header fields that a test sets to something wrong, by field name. */
export type FieldOverrides = Partial<
  Record<'headerByteCount' | 'recordCount' | 'recordDurationS' | 'signalCount' | 'reserved', string>
>;

/** Writes an EDF or BDF file, independently of the reader, field by field as the EDF specification lists them. */
export function buildEdf(
  kind: 'EDF' | 'BDF',
  signals: readonly BuiltSignal[],
  { recordCount = 2, overrides = {} as FieldOverrides } = {},
): Uint8Array {
  const bytesPerSample = kind === 'EDF' ? 2 : 3;
  const span = kind === 'EDF' ? 32768 : 8388608;
  const field = (value: string | number, width: number): string => String(value).padEnd(width).slice(0, width);
  const column = (width: number, pick: (signal: BuiltSignal) => string | number): string =>
    signals.map((signal) => field(pick(signal), width)).join('');
  const samplesPerRecord = (signal: BuiltSignal): number => signal.samplesPerRecord ?? 4;

  const header =
    (kind === 'EDF' ? field('0', 8) : `\xff${'BIOSEMI'}`) +
    field('X X X X', 80) +
    field('Startdate X X X X', 80) +
    '01.01.0100.00.00' +
    field(overrides.headerByteCount ?? 256 * (signals.length + 1), 8) +
    field(overrides.reserved ?? '', 44) +
    field(overrides.recordCount ?? recordCount, 8) +
    field(overrides.recordDurationS ?? 1, 8) +
    field(overrides.signalCount ?? signals.length, 4) +
    column(16, (signal) => signal.label) +
    column(80, (signal) => signal.transducer ?? '') +
    column(8, (signal) => signal.dimension ?? (signal.lists ? '' : 'uV')) +
    column(8, (signal) => signal.physical?.[0] ?? -span) +
    column(8, (signal) => signal.physical?.[1] ?? span - 1) +
    column(8, (signal) => signal.digital?.[0] ?? -span) +
    column(8, (signal) => signal.digital?.[1] ?? span - 1) +
    column(80, () => '') +
    column(8, samplesPerRecord) +
    column(32, () => '');

  const bytes: number[] = [...header].map((character) => character.charCodeAt(0));
  for (let r = 0; r < recordCount; r++) {
    for (const signal of signals) {
      const count = samplesPerRecord(signal);
      if (signal.lists) {
        const text = [...new TextEncoder().encode(signal.lists[r] ?? '')];
        bytes.push(...text, ...new Array<number>(count * bytesPerSample - text.length).fill(0));
      } else {
        for (let s = 0; s < count; s++) {
          const digital = signal.samples?.[r * count + s] ?? 0;
          for (let b = 0; b < bytesPerSample; b++) bytes.push((digital >> (8 * b)) & 0xff);
        }
      }
    }
  }
  return Uint8Array.from(bytes);
}
