import { readFileSync } from 'node:fs';
import { RecordingError } from '../formats/index.ts';
import { UsageError } from './arguments.ts';
import { exportCommand } from './export.ts';
import { lessonCommand } from './lesson.ts';
import { raceCommand } from './race.ts';
import { scenariosCommand } from './scenarios.ts';
import { strategiesCommand } from './strategies.ts';
import { studyCommand } from './study.ts';

const VERSION: string = JSON.parse(readFileSync(new URL('../../package.json', import.meta.url), 'utf8')).version;

const USAGE = `Sweepwise ${VERSION}: averaging strategies race on the same sweeps, with the truth known

usage:
  sweepwise race [SCENARIO] [options]       race on a simulated patient
  sweepwise race --recording FILE [options] run the same strategies on a real recording
  sweepwise export [SCENARIO] --to FILE     write a run's recording as EDF+, BDF+ or CSV
  sweepwise scenarios [--keys | ID]         list the patients; every key of a scenario; one patient whole
  sweepwise strategies [ID]                 list the averaging strategies with their tunables
  sweepwise lesson ACTION [...]             list, check, dry-run, verify, report, handout
  sweepwise study COMMAND                   parameter studies: run, resume, status, report, worker, slurm
  sweepwise COMMAND --help                  options of a command

Teaching simulation: model values, not normative, not for clinical decisions.
`;

/** Runs one command line; returns the exit code. Bad input is one line on standard error and 1. */
async function main(words: string[]): Promise<number> {
  const [command, ...rest] = words;
  try {
    if (command === 'race') return await raceCommand(rest, VERSION);
    if (command === 'export') return exportCommand(rest, VERSION);
    if (command === 'scenarios') return scenariosCommand(rest);
    if (command === 'strategies') return await strategiesCommand(rest);
    if (command === 'lesson') return lessonCommand(rest, VERSION);
    if (command === 'study') return await studyCommand(rest, VERSION);
    if (command === '--version') process.stdout.write(`${VERSION}\n`);
    else if (command === undefined || command === 'help' || command === '--help' || command === '-h') {
      process.stdout.write(USAGE);
    } else
      throw new UsageError(`unknown command "${command}"; one of race, export, scenarios, strategies, lesson, study`);
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
