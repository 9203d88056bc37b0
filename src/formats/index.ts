/** Reading real recordings: bytes in, channels in µV and events out, in browser and Node alike. */
export { selectChannels } from './channelSelection.ts';
export { eventChoices, selectEvents } from './eventSelection.ts';
export { readRecording } from './readRecording.ts';
export { readRecordings } from './readRecordings.ts';
export type { ReadRecordingOptions, Recording, RecordingChannel } from './recording.ts';
export { RecordingError } from './recordingError.ts';
export { polarityChoices, type StimulusChoice, selectStimuli } from './stimulusSelection.ts';
export { type NamedBytes, wfdbFileNames } from './wfdb.ts';
