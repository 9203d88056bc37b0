import type { RecordedBackground } from '../core/session/background.ts';
import { readRecording, selectChannels } from '../formats/index.ts';
import type { StudyFile, StudyPlan } from './plan.ts';
import type { Backgrounds } from './runBlock.ts';
import { StudyError } from './studyError.ts';

/**
 * Reads the recordings that a study names, when they are first asked for.
 *
 * @param bytesOf - gives the bytes of a file, and refuses one that is not the file the study was planned with
 * @throws {StudyError} where a file is not there, or another
 */
export function backgroundsOf({ files }: StudyPlan, bytesOf: (file: StudyFile) => Uint8Array): Backgrounds {
  const read = new Map<string, readonly RecordedBackground[]>();
  return (background) => {
    const key = JSON.stringify(background);
    const known = read.get(key);
    if (known) return known;
    const { sampleRateHz, unit, channel } = background;
    const recordings = background.files.map((name) => {
      const recording = readRecording(name, bytesOf(fileOf(files, name)), { sampleRateHz, unit });
      const [selected] = selectChannels(recording, channel);
      return { samplesUv: selected.samplesUv, sampleRateHz: selected.sampleRateHz, missing: recording.missing };
    });
    read.set(key, recordings);
    return recordings;
  };
}

function fileOf(files: StudyPlan['files'], name: string): StudyFile {
  const file = files.find((entry) => entry.name === name);
  if (file) return file;
  throw new StudyError(`background.files: must be among the files of the study, got ${name}`);
}
