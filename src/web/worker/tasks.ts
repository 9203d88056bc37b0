import type { Scenario } from '../../core/scenario/schema.ts';
import type { LaneSetting } from '../../core/session/lanes.ts';
import { type NoiseLedger, noiseLedger } from '../../core/session/ledger.ts';
import { type FullRun, fullRun } from './fullRun.ts';

/** A run that a task works on. */
export interface TaskRun {
  scenario: Scenario;
  seed: string;
  lanes: LaneSetting[];
}

/** What can be asked of a worker of its own, by name. */
export interface Tasks {
  'full-run': { order: TaskRun; result: FullRun };
  ledger: { order: TaskRun; result: NoiseLedger[] };
}

export type TaskKind = keyof Tasks;

/** Starts a task. @returns a generator of progress 0 … 1, then the result */
export function startTask<Kind extends TaskKind>(
  kind: Kind,
  order: Tasks[Kind]['order'],
): Generator<number, Tasks[Kind]['result']> {
  const { scenario, seed, lanes } = order;
  const makers: { [K in TaskKind]: () => Generator<number, Tasks[K]['result']> } = {
    'full-run': () => fullRun(scenario, seed, lanes),
    ledger: () => noiseLedger(scenario, seed, lanes),
  };
  return makers[kind]();
}
