/** Reading real recordings: bytes in, channels in µV and events out, in browser and Node alike. */
export { selectChannels } from './channelSelection.ts';
export { type EventChoice, eventChoices, selectEvents } from './eventSelection.ts';
export { voltageUnits } from './physicalUnit.ts';
export {
  type MissingSpan,
  type ReadRecordingOptions,
  type Recording,
  type RecordingChannel,
  type RecordingEvent,
  readRecording,
} from './recording.ts';
export { RecordingError } from './recordingError.ts';
