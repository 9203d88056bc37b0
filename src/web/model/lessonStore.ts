import { type DBSchema, type IDBPDatabase, openDB } from 'idb';
import type { AttemptEvent } from '../../lessons/attemptLog.ts';
import type { LessonMark } from '../../lessons/mark.ts';

/** What is kept of one attempt: enough to go on after a crash. */
export interface AttemptRecord {
  version: 2;
  /** Digest of the lesson: an attempt at another edition of it cannot go on. */
  lessonDigest: string;
  learner: string;
  attempt: number;
  attemptSeed: string;
  /** Wall-clock time of the beginning, ms: the time limit goes on while the page is closed. */
  begunAtMs: number;
  step: string;
  events: AttemptEvent[];
  mark: LessonMark | null;
}

interface LessonDatabase extends DBSchema {
  attempts: { key: string; value: AttemptRecord };
}

/** Keeps attempts between visits. */
export interface LessonStore {
  /** The record kept under a key, or undefined. @throws if the storage is blocked or broken */
  load(key: string): Promise<AttemptRecord | undefined>;
  /** Keeps a record. @throws if the storage is blocked or full */
  save(key: string, record: AttemptRecord): Promise<void>;
}

/**
 * The browser's own storage (IndexedDB), opened at the first use.
 *
 * A private window, a full disk or a strict setting may refuse it; the caller tells the learner and goes on without.
 */
export function browserStore(): LessonStore {
  let opening: Promise<IDBPDatabase<LessonDatabase>> | null = null;
  const database = () => {
    opening ??= openDB<LessonDatabase>('sweepwise-lessons', 1, {
      upgrade: (fresh) => {
        fresh.createObjectStore('attempts');
      },
      // Closed by the browser, for instance when the site's data are cleared: the next use opens it again.
      terminated: () => {
        opening = null;
      },
    });
    return opening;
  };
  return {
    load: async (key) => (await database()).get('attempts', key),
    save: async (key, record) => {
      await (await database()).put('attempts', record, key);
    },
  };
}
