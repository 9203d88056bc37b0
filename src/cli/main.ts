import { readFileSync } from 'node:fs';
import { RecordingError } from '../formats/recordingError.ts';
import { UsageError } from './arguments.ts';

const VERSION: string = JSON.parse(readFileSync(new URL('../../package.json', import.meta.url), 'utf8')).version;

const USAGE = `Sweepwise ${VERSION}: averaging strategies race on the same sweeps, with the truth known

usage:
  sweepwise race [SCENARIO] [options]       race on a simulated patient
  sweepwise race --recording FILE [options] run the same strategies on a real recording
  sweepwise export [SCENARIO] --to FILE     write a run's recording as EDF+, BDF+ or CSV
  sweepwise scenarios [--keys | ID]         list the patients; every key of a scenario; one patient whole
  sweepwise strategies [ID]                 list the averaging strategies with their tunables
  sweepwise lesson ACTION [...]             list, check, dry-run, verify, report, handout
  sweepwise drill ACTION [...]              list, check, key, verify
  sweepwise study COMMAND                   parameter studies: run, resume, status, report, worker, slurm
  sweepwise COMMAND --help                  options of a command

Teaching simulation: model values, not normative, not for clinical decisions.
`;

// Each command is loaded when it is called: all of them together take as long to load as a short race takes to run.
const commands: Record<string, (words: string[]) => Promise<number>> = {
  race: async (words) => (await import('./race.ts')).raceCommand(words, VERSION),
  export: async (words) => (await import('./export.ts')).exportCommand(words, VERSION),
  scenarios: async (words) => (await import('./scenarios.ts')).scenariosCommand(words),
  strategies: async (words) => (await import('./strategies.ts')).strategiesCommand(words),
  lesson: async (words) => (await import('./lesson.ts')).lessonCommand(words, VERSION),
  drill: async (words) => (await import('./drill.ts')).drillCommand(words),
  study: async (words) => (await import('./study.ts')).studyCommand(words, VERSION),
};

/** Runs one command line; returns the exit code. Bad input is one line on standard error and 1. */
async function main(words: string[]): Promise<number> {
  const [command, ...rest] = words;
  try {
    if (Object.hasOwn(commands, command ?? '')) return await commands[command](rest);
    if (command === '--version') process.stdout.write(`${VERSION}\n`);
    else if (command === undefined || command === 'help' || command === '--help' || command === '-h') {
      process.stdout.write(USAGE);
    } else throw new UsageError(`unknown command "${command}"; one of ${Object.keys(commands).join(', ')}`);
    return 0;
  } catch (error) {
    if (!(error instanceof UsageError || error instanceof RangeError || error instanceof RecordingError)) throw error;
    process.stderr.write(`sweepwise: ${error.message.replaceAll('\n', ' ')}\n`);
    return 1;
  }
}

// A reader that closes the pipe early (head) has what it wanted.
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (error.code === 'EPIPE') process.exit(0);
  process.stderr.write(`sweepwise: cannot write the output (${error.code})\n`);
  process.exit(1);
});
process.exitCode = await main(process.argv.slice(2));
