import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { type NamedBytes, type Recording, readRecordings, wfdbFileNames } from '../formats/index.ts';
import { numberOption, type ParsedArguments, singleOption, UsageError } from './arguments.ts';

/** Reads the files of `--recording`, with what the options say where they do not. */
export function readRecordingFiles(parsed: ParsedArguments): Recording[] {
  const options = {
    sampleRateHz: numberOption('sample-rate-hz', singleOption(parsed, 'sample-rate-hz'), 0.01, 1e6),
    unit: singleOption(parsed, 'unit'),
  };
  return parsed.values('recording').map((file) => readFile(file, options));
}

function readFile(file: string, options: { sampleRateHz?: number; unit?: string }): Recording {
  const opened = openFile(file);
  const files = /\.hea$/i.test(file) ? [opened, ...besideHeader(file, opened)] : [opened];
  const [recording] = readRecordings(files, options);
  return recording;
}

function openFile(file: string): NamedBytes {
  try {
    return { name: basename(file), bytes: readFileSync(file) };
  } catch (error) {
    throw new UsageError(`${file}: cannot be read (${(error as NodeJS.ErrnoException).code})`);
  }
}

/** The signal files that a WFDB header names, as far as they are there, and the annotation files of its name. */
function besideHeader(file: string, header: NamedBytes): NamedBytes[] {
  const folder = dirname(file);
  const stem = header.name.replace(/hea$/i, '');
  const annotations = readdirSync(folder).filter(
    (name) => name.startsWith(stem) && /\.(atr|ann|qrs|ari|ecg)$/i.test(name),
  );
  const names = new Set([...wfdbFileNames(header), ...annotations]);
  return [...names].filter((name) => existsSync(join(folder, name))).map((name) => openFile(join(folder, name)));
}
