import { Redis } from 'ioredis';
import { StudyError } from '../studyError.ts';

/** Name of the queue of blocks. BullMQ keeps its keys under `bull:NAME:`. */
export const QUEUE_NAME = 'sweepwise-blocks';

/** Redis hash of the studies under way: hash of the study → its order as JSON. */
export const STUDIES_KEY = 'sweepwise:studies';

/** How long a worker may fall silent before its block goes to another, s, and how often to look. */
export const DEFAULT_LOCK_S = 30;

/** Milliseconds between looks at the queue. */
export const LOOK_MS = 300;

/**
 * Connects to Redis, once, without patience: a wrong address must be told at once.
 *
 * The connection then returns by itself as often as it is lost.
 *
 * @throws {StudyError} naming the address, without its password, and the reason
 */
export async function connectRedis(url: string): Promise<Redis> {
  let isFirst = true;
  const connection = new Redis(url, {
    lazyConnect: true,
    connectTimeout: 5000,
    maxRetriesPerRequest: null, // BullMQ's own rule: commands wait for the connection to return
    retryStrategy: (attempt) => (isFirst ? null : Math.min(2000, 100 * attempt)),
  });
  let reason = 'no answer';
  connection.on('error', (error: NodeJS.ErrnoException) => {
    reason = error.code ?? error.message;
  });
  try {
    await connection.connect();
    await connection.ping();
  } catch (error) {
    connection.disconnect();
    const { code, message } = error as NodeJS.ErrnoException;
    const why = code ?? (message === 'Connection is closed.' ? reason : message);
    throw new StudyError(`--redis: cannot reach ${plainAddress(url)} (${why})`);
  }
  isFirst = false;
  return connection;
}

/** Checks an address before anything is tried. @throws {StudyError} */
export function checkRedisUrl(url: string): string {
  if (URL.canParse(url) && /^rediss?:$/.test(new URL(url).protocol)) return url;
  throw new StudyError(`--redis: must be redis://HOST:PORT or rediss://HOST:PORT, got "${url}"`);
}

function plainAddress(url: string): string {
  const { protocol, host } = new URL(url);
  return `${protocol}//${host}`;
}
