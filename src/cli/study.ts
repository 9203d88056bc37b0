import { UsageError } from './arguments.ts';
import { studyReportCommand } from './studyReport.ts';
import { studyRunCommand, studyStatusCommand } from './studyRun.ts';
import { studyBlockCommand, studySlurmCommand } from './studySlurm.ts';
import { studyWorkerCommand } from './studyWorker.ts';

const USAGE = `usage: sweepwise study COMMAND

  study run FILE [options]       run a study file; what a folder already holds is not run again
  study resume FOLDER [options]  go on with a study that was interrupted
  study status FOLDER            how far it is
  study report FOLDER            tables (CSV, Parquet) and one HTML page, of what is there so far
  study worker --redis URL       serve blocks of studies that run with --redis, on any machine
  study slurm FILE|FOLDER        write an array script for the missing blocks, to send and to send again
  study block FOLDER ...         one task of such an array

  study COMMAND --help           options of a command
`;

type Command = (words: string[], version: string) => number | Promise<number>;

const commands: Record<string, Command> = {
  run: (words, version) => studyRunCommand('run', words, version),
  resume: (words, version) => studyRunCommand('resume', words, version),
  status: studyStatusCommand,
  report: studyReportCommand,
  worker: studyWorkerCommand,
  slurm: studySlurmCommand,
  block: studyBlockCommand,
};

/** Parameter studies: from a question to a defended answer. */
export async function studyCommand(words: string[], version: string): Promise<number> {
  const [name, ...rest] = words;
  if (name === undefined || name === 'help' || name === '--help' || name === '-h') {
    process.stdout.write(USAGE);
    return 0;
  }
  if (!Object.hasOwn(commands, name)) {
    throw new UsageError(`unknown command "study ${name}"; one of ${Object.keys(commands).join(', ')}`);
  }
  return await commands[name](rest, version);
}
