import type { Scenario } from '../../core/scenario/schema.ts';
import type { LaneSetting } from '../../core/session/lanes.ts';
import { type NoiseLedger, noiseLedger } from '../../core/session/ledger.ts';
import { type RaceResult, race } from '../../core/session/race.ts';
import { type FullRun, fullRun } from './fullRun.ts';
import { type MixPart, sweepMix } from './sweepMix.ts';

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
  /** One sweep by its sources. */
  'sweep-mix': { order: TaskRun & { index: number }; result: MixPart[] };
  /** The lanes over replicate patients, with the oracle beside them. */
  replicates: { order: TaskRun & { replicates: number }; result: RaceResult };
}

export type TaskKind = keyof Tasks;

function* replicates(order: Tasks['replicates']['order']): Generator<number, RaceResult> {
  const { scenario, seed, lanes, replicates: count } = order;
  const racing = race(scenario, {
    seed,
    replicates: count,
    targetNv: scenario.session.targetNv,
    lanes,
    oracle: true,
  });
  let step = racing.next();
  for (; !step.done; step = racing.next()) yield step.value.fraction;
  return step.value;
}

const makers: { [K in TaskKind]: (order: Tasks[K]['order']) => Generator<number, Tasks[K]['result']> } = {
  'full-run': ({ scenario, seed, lanes }) => fullRun(scenario, seed, lanes),
  ledger: ({ scenario, seed, lanes }) => noiseLedger(scenario, seed, lanes),
  replicates,
  'sweep-mix': ({ scenario, seed, index }) => sweepMix(scenario, seed, index),
};

/** Starts a task. @returns a generator of progress 0 … 1, then the result */
export function startTask<Kind extends TaskKind>(
  kind: Kind,
  order: Tasks[Kind]['order'],
): Generator<number, Tasks[Kind]['result']> {
  return makers[kind](order);
}
