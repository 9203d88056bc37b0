import type { Scenario } from '../../core/scenario/schema.ts';
import { type LaneSetting, racingLanesOf } from '../../core/session/lanes.ts';
import { type NoiseLedger, noiseLedger } from '../../core/session/ledger.ts';
import { type RaceOrder, type RaceProgress, type RaceResult, race } from '../../core/session/race.ts';
import type { AttemptFile } from '../../lessons/attemptFile.ts';
import type { DrillState } from '../../lessons/drills/drillLog.ts';
import type { Drill } from '../../lessons/drills/drillSchema.ts';
import { type DrillMark, markDrill } from '../../lessons/drills/markDrill.ts';
import { type DryRunReport, dryRun } from '../../lessons/dryRun.ts';
import { type Attempt, type LessonMark, type MarkProgress, markAttempt } from '../../lessons/mark.ts';
import type { Lesson } from '../../lessons/schema.ts';
import { type Verification, verifyAttempt } from '../../lessons/verifyAttempt.ts';
import { type ClassFindings, type ClassOrder, classFindings } from './classFindings.ts';
import { type FullRun, fullRun } from './fullRun.ts';
import { type RecordingFile, type RecordingFileOrder, recordingFile } from './recordingFile.ts';
import { type MixPart, sweepMix } from './sweepMix.ts';

/** A run that a task works on. */
export interface TaskRun {
  scenario: Scenario;
  seed: string;
  lanes: LaneSetting[];
}

/** What can be asked of a worker of its own, by name. Progress is the fraction done, or has it and more. */
export interface Tasks {
  'full-run': { order: TaskRun; progress: number; result: FullRun };
  ledger: { order: TaskRun; progress: number; result: NoiseLedger[] };
  /** One sweep by its sources. */
  'sweep-mix': { order: TaskRun & { index: number }; progress: number; result: MixPart[] };
  /** The lanes over replicate patients, with the oracle beside them. */
  replicates: { order: TaskRun & { replicates: number }; progress: number; result: RaceResult };
  race: { order: { scenario: Scenario; race: RaceOrder }; progress: RaceProgress; result: RaceResult };
  'recording-file': { order: RecordingFileOrder; progress: number; result: RecordingFile };
  'class-report': { order: ClassOrder; progress: number; result: ClassFindings };
  /** The standard players over three seeds, with as many hidden patients as the lesson says or fewer. */
  'dry-run': { order: { lesson: Lesson; patients?: number }; progress: number; result: DryRunReport };
  'mark-attempt': { order: { lesson: Lesson; attempt: Attempt }; progress: MarkProgress; result: LessonMark };
  'mark-drill': { order: { drill: Drill; state: DrillState }; progress: number; result: DrillMark };
  'verify-attempt': {
    order: { lesson: Lesson; file: AttemptFile; program: string };
    progress: never;
    result: Verification;
  };
}

export type TaskKind = keyof Tasks;

/** A task in progress. */
type Running<Kind extends TaskKind> = Generator<Tasks[Kind]['progress'], Tasks[Kind]['result']>;

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

function* tryLesson({ lesson, patients }: Tasks['dry-run']['order']): Generator<number, DryRunReport> {
  const running = dryRun(lesson, { seeds: ['dry-run-1', 'dry-run-2', 'dry-run-3'], patients }); // as the terminal does
  let step = running.next();
  for (; !step.done; step = running.next()) yield step.value.fraction;
  return step.value;
}

// It is over at its first step: an attempt is judged in one go.
// biome-ignore lint/correctness/useYield: every task is a generator
function* verify({ lesson, file, program }: Tasks['verify-attempt']['order']): Running<'verify-attempt'> {
  return verifyAttempt(lesson, file, program);
}

const makers: { [Kind in TaskKind]: (order: Tasks[Kind]['order']) => Running<Kind> } = {
  'full-run': ({ scenario, seed, lanes }) => fullRun(scenario, seed, lanes),
  ledger: ({ scenario, seed, lanes }) => noiseLedger(scenario, seed, lanes),
  'class-report': classFindings,
  'dry-run': tryLesson,
  'mark-attempt': ({ lesson, attempt }) => markAttempt(lesson, attempt),
  'mark-drill': ({ drill, state }) => markDrill(drill, state),
  race: ({ scenario, race: order }) => race(scenario, { lanes: racingLanesOf(scenario), ...order }),
  'recording-file': recordingFile,
  replicates,
  'sweep-mix': ({ scenario, seed, index }) => sweepMix(scenario, seed, index),
  'verify-attempt': verify,
};

/** Starts a task. @returns a generator of its progress, then the result */
export function startTask<Kind extends TaskKind>(kind: Kind, order: Tasks[Kind]['order']): Running<Kind> {
  return makers[kind](order);
}
