/** One channel (or column) of a recording. */
export interface RecordingChannel {
  /** Unique within the recording. */
  readonly label: string;
  /** "µV" after scaling; the file's own unit where that is no voltage (a warning tells so). */
  readonly unit: string;
  readonly sampleRateHz: number;
  readonly samplesUv: Float64Array;
  /** µV per unit of the file; divide by it to get the file's own numbers, such as marker codes. */
  readonly scaleUv: number;
}

/** Something that happened at one moment; `timeS` counts from the first sample and may be negative. */
export interface RecordingEvent {
  readonly timeS: number;
  /** The annotation's text, or the trigger code in decimal digits. */
  readonly label: string;
  readonly durationS?: number;
  readonly source: 'annotation' | 'status';
}

/** Seconds from the first sample; the samples within are filled in, not recorded: skip every sweep that touches them. */
export interface MissingSpan {
  readonly startS: number;
  readonly endS: number;
}

/** A recording as read from a file, in physical units. */
export interface Recording {
  readonly name: string;
  readonly format: 'delimited' | 'edf' | 'edf+' | 'bdf' | 'bdf+' | 'wfdb';
  readonly channels: readonly RecordingChannel[];
  /** Annotations and status changes, by time. Codes in a marker column are read on demand by `selectEvents`. */
  readonly events: readonly RecordingEvent[];
  readonly missing: readonly MissingSpan[];
  /** What was read leniently, one line each, meant for the user. */
  readonly warnings: readonly string[];
}

/** What a delimited text file may leave unsaid. EDF and BDF files state both themselves: there a warning says so. */
export interface ReadRecordingOptions {
  /** Needed where there is no time column. */
  readonly sampleRateHz?: number;
  /** Unit of the columns whose name states none: nV, µV (the default), mV or V. */
  readonly unit?: string;
}
