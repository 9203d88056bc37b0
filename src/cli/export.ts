import { closeSync, openSync, rmSync, writeSync } from 'node:fs';
import { cautionsFor } from '../core/scenario/cautions.ts';
import { plausibilityWarnings } from '../core/scenario/plausibility.ts';
import { DEFAULT_PRESET } from '../core/scenario/presets.ts';
import { resolveScenario, withOverrides } from '../core/scenario/resolve.ts';
import { RECORD_COUNT_FIELD } from '../formats/edfWriter.ts';
import { type SessionFileOrder, sessionFile } from '../formats/sessionFile.ts';
import { numberOption, parseArguments, UsageError } from './arguments.ts';
import { scenarioDocument } from './scenarioArgument.ts';

const USAGE = `usage: sweepwise export [SCENARIO] --to FILE [options]

Writes the continuous recording of one run, behind amplifier, converter and filters, with annotations for every
stimulus and its polarity, every event and every over-range stretch. The ending of FILE picks the format:
.edf (EDF+, 16 bits), .bdf (BDF+, 24 bits) or .csv. What is unusual and the cautions come on standard error.

SCENARIO is a name from "sweepwise scenarios", a YAML or JSON file, or - for standard input (default ${DEFAULT_PRESET}).

  --to FILE            file to write; one that exists is replaced
  --seed TEXT          session seed: same scenario + seed = same file (default 1)
  --seconds S          stimulation time, s (default: the scenario's session.durationS)
  --set PATH=VALUE     override one key of the scenario; may be repeated
  --truth              add the noise-free response of each channel as two more signals
`;

const formats: readonly (readonly [RegExp, SessionFileOrder['format']])[] = [
  [/\.edf$/i, 'edf+'],
  [/\.bdf$/i, 'bdf+'],
  [/\.csv$/i, 'csv'],
];

/** Writes the recording of one run to a file, piece by piece. */
export function exportCommand(words: string[], version: string): number {
  const parsed = parseArguments(words, {
    to: 'value',
    seed: 'value',
    seconds: 'value',
    set: 'values',
    truth: 'flag',
    help: 'flag',
  });
  if (parsed.flag('help')) {
    process.stdout.write(USAGE);
    return 0;
  }
  const [name = DEFAULT_PRESET, ...more] = parsed.positionals;
  if (more.length > 0) throw new UsageError(`export: takes one scenario, got ${parsed.positionals.join(' ')}`);
  const path = parsed.value('to');
  if (path === undefined) throw new UsageError('export: needs --to FILE');
  const format = formats.find(([ending]) => ending.test(path))?.[1];
  if (!format) throw new UsageError(`--to: must end in .edf, .bdf or .csv, got "${path}"`);

  const seconds = numberOption('seconds', parsed.value('seconds'), 1, 7200);
  const assignments = [...parsed.values('set'), ...(seconds === undefined ? [] : [`session.durationS=${seconds}`])];
  const scenario = resolveScenario(withOverrides(scenarioDocument(name), assignments));
  const seed = parsed.value('seed') ?? '1';
  const file = sessionFile(scenario, seed, { format, withTruth: parsed.flag('truth'), version });
  for (const { path: key, rule, value } of plausibilityWarnings(scenario)) {
    process.stderr.write(`unusual: ${key}: ${rule}, got ${value}\n`);
  }
  const recordCount = write(path, file, format !== 'csv');
  for (const sentence of cautionsFor(scenario)) process.stderr.write(`caution: ${sentence}\n`);
  if (file.clippedCount() > 0) {
    process.stderr.write(
      `warning: ${path}: ${file.clippedCount()} samples were beyond what 16 bits hold at this range\n`,
    );
  }
  const pieces = format === 'csv' ? 'as text' : `in ${recordCount} data records`;
  process.stdout.write(`${path}: ${scenario.id}, seed ${seed}, ${scenario.session.durationS} s, ${pieces}\n`);
  return 0;
}

/** Writes header and records; a file that could not be finished is taken away. Returns the number of records. */
function write(path: string, file: ReturnType<typeof sessionFile>, countInHeader: boolean): number {
  let handle: number | null = null;
  let recordCount = 0;
  try {
    handle = openSync(path, 'w');
    writeWhole(handle, file.header(-1), null);
    for (const record of file.records()) {
      writeWhole(handle, record, null);
      recordCount++;
    }
    if (countInHeader) {
      const { offset, width } = RECORD_COUNT_FIELD;
      writeWhole(handle, file.header(recordCount).subarray(offset, offset + width), offset);
    }
    closeSync(handle);
    return recordCount;
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    if (code === undefined) throw error;
    if (handle !== null) {
      closeSync(handle);
      rmSync(path, { force: true });
    }
    throw new UsageError(`${path}: cannot be written (${code})`);
  }
}

/** A write may take fewer bytes than it was given. */
function writeWhole(handle: number, bytes: Uint8Array, position: number | null): void {
  for (let done = 0; done < bytes.length; ) {
    done += writeSync(handle, bytes, done, bytes.length - done, position === null ? null : position + done);
  }
}
