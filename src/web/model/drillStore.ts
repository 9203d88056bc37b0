import { type DBSchema, type IDBPDatabase, openDB } from 'idb';
import type { DrillFile } from '../../lessons/drills/drillFile.ts';
import type { DrillMark } from '../../lessons/drills/markDrill.ts';

/** A drill that was done and marked: what the list shows, the record prints and a file holds. */
export interface DoneDrill {
  file: DrillFile;
  mark: DrillMark;
  /** Wall-clock time at which it was handed in, ms. */
  doneAtMs: number;
}

interface DrillDatabase extends DBSchema {
  done: { key: string; value: DoneDrill };
}

/** Keeps the latest record of every drill between visits. */
export interface DrillStore {
  /** All that is kept. @throws if the storage is blocked or broken */
  load(): Promise<DoneDrill[]>;
  /** Keeps one, in place of an earlier one of the same drill. @throws if the storage is blocked or full */
  save(done: DoneDrill): Promise<void>;
}

/** The browser's own storage (IndexedDB), opened at the first use; it may refuse, and the caller tells the learner. */
export function browserDrillStore(): DrillStore {
  let opening: Promise<IDBPDatabase<DrillDatabase>> | null = null;
  const database = () => {
    opening ??= openDB<DrillDatabase>('sweepwise-drills', 1, {
      upgrade: (fresh) => {
        fresh.createObjectStore('done');
      },
      terminated: () => {
        opening = null;
      },
    });
    return opening;
  };
  return {
    load: async () => (await database()).getAll('done'),
    save: async (done) => {
      const { id, lineHz } = done.file.drill;
      await (await database()).put('done', done, `${id}@${lineHz}`);
    },
  };
}
