import { availableParallelism } from 'node:os';
import { codeVersion } from '../study/engines/codeVersion.ts';
import { checkRedisUrl, DEFAULT_LOCK_S } from '../study/engines/redisConnection.ts';
import { serveBlocks } from '../study/engines/redisWorker.ts';
import { numberOption, parseArguments, UsageError } from './arguments.ts';
import { STRATEGY_LOADER } from './strategyLoader.ts';

const USAGE = `usage: sweepwise study worker --redis URL [options]

Takes blocks of studies that "study run --redis URL" has put into Redis. Start one on each machine.

  --redis URL          redis://HOST:PORT, or rediss:// with encryption
  --workers N          blocks at a time, each in a process of its own (default: one for each core)
  --lock-s S           a worker that was silent for so long has lost its block to another (default ${DEFAULT_LOCK_S})
  --quiet              say nothing

All workers must be of the same version of the program as the run; others are refused. Ctrl-C ends it.
`;

/** Serves blocks from Redis until it is ended. */
export async function studyWorkerCommand(words: string[], version: string): Promise<number> {
  const options = { redis: 'value', workers: 'value', 'lock-s': 'value', quiet: 'flag', help: 'flag' } as const;
  const parsed = parseArguments(words, options);
  if (parsed.flag('help')) {
    process.stdout.write(USAGE);
    return 0;
  }
  if (parsed.positionals.length > 0) throw new UsageError(`study worker: takes no ${parsed.positionals[0]}`);
  const url = parsed.value('redis');
  if (url === undefined) throw new UsageError('study worker: needs --redis URL');
  const stop = new AbortController();
  process.on('SIGINT', () => stop.abort());
  process.on('SIGTERM', () => stop.abort());
  const quiet = parsed.flag('quiet');
  const code = codeVersion(version);
  if (!quiet) process.stderr.write(`Sweepwise ${code} serves blocks; Ctrl-C ends it\n`);
  await serveBlocks({
    url: checkRedisUrl(url),
    version: code,
    loader: STRATEGY_LOADER,
    count: numberOption('workers', parsed.value('workers'), 1, 512, true) ?? availableParallelism(),
    lockS: numberOption('lock-s', parsed.value('lock-s'), 1, 3600) ?? DEFAULT_LOCK_S,
    signal: stop.signal,
    note: (text) => {
      if (!quiet) process.stderr.write(`${text}\n`);
    },
  });
  return 0;
}
