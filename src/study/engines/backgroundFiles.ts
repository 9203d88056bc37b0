import { readFileSync } from 'node:fs';
import type { RecordedBackground } from '../../core/session/background.ts';
import { readRecording, selectChannels } from '../../formats/index.ts';
import { bytesHash } from '../contentHash.ts';
import type { StudyPlan } from '../plan.ts';
import type { Backgrounds } from '../runBlock.ts';
import { StudyError } from '../studyError.ts';

/**
 * Reads the recordings that a study names, when they are first asked for.
 *
 * @throws {StudyError} where a file is not there, or not the one that the study was planned with
 */
export function backgroundsOf({ files }: StudyPlan): Backgrounds {
  const read = new Map<string, readonly RecordedBackground[]>();
  return (background) => {
    const key = JSON.stringify(background);
    const known = read.get(key);
    if (known) return known;
    const { sampleRateHz, unit, channel } = background;
    const recordings = background.files.map((name) => {
      const recording = readRecording(name, bytesOf(files, name), { sampleRateHz, unit });
      const [selected] = selectChannels(recording, channel);
      return { samplesUv: selected.samplesUv, sampleRateHz: selected.sampleRateHz, missing: recording.missing };
    });
    read.set(key, recordings);
    return recordings;
  };
}

function bytesOf(files: StudyPlan['files'], name: string): Uint8Array {
  const file = files.find((entry) => entry.name === name);
  if (!file) throw new StudyError(`background.files: must be among the files of the study, got ${name}`);
  let bytes: Uint8Array;
  try {
    bytes = readFileSync(file.path);
  } catch (error) {
    throw new StudyError(
      `background.files: ${name} cannot be read on this machine (${(error as { code: string }).code})`,
    );
  }
  const hash = bytesHash(bytes);
  if (hash !== file.hash) {
    const short = (text: string) => text.slice(0, 12);
    throw new StudyError(
      `background.files: ${name} must be the file of the study (${short(file.hash)}), got ${short(hash)}`,
    );
  }
  return bytes;
}
