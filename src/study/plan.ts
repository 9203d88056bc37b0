import type { AveragingStrategy } from '../core/averaging/strategy.ts';
import { type Condition, conditionsOf } from './conditions.ts';
import { jsonHash } from './contentHash.ts';
import { CATASTROPHE, type Measure, studyMeasure } from './measures.ts';
import type { StudyDocument } from './schema.ts';
import { type Setting, settingsOf } from './settings.ts';
import { StudyError } from './studyError.ts';

/** A file that a study needs besides its own text, by the SHA-256 of its bytes. */
export interface StudyFile {
  kind: 'recording' | 'strategy';
  /** As the study names it. */
  name: string;
  /** Where it lies on this machine. */
  path: string;
  hash: string;
}

/** Strategies that a study brings along, by the name that it gives them. */
export type Outside = ReadonlyMap<string, AveragingStrategy>;

/** A study worked out: everything that decides a row, except the version of the program. */
export interface StudyPlan {
  study: StudyDocument;
  files: StudyFile[];
  outside: Outside;
  /** First 12 digits of the SHA-256 of study and files: the same study has the same hash anywhere. */
  hash: string;
  conditions: Condition[];
  settings: Setting[];
  /** Number of the setting with which the others are compared. */
  reference: number;
  measures: Measure[];
  catastrophe: { noiseTimesTarget: number; gainBelow: number };
  replicates: { from: number; to: number; until: { measure: Measure; halfWidthPercent: number } | null };
  blockReplicates: number;
  choose: { measure: Measure; keepsResponse: boolean };
}

const DEFAULT_BLOCK_REPLICATES = 4;

/**
 * Works out a study that was checked key by key.
 *
 * @throws {StudyError} for parts that do not fit each other: key, rule and value
 */
export function planStudy(study: StudyDocument, files: StudyFile[] = [], outside: Outside = new Map()): StudyPlan {
  const settings = settingsOf(study, outside);
  const conditions = conditionsOf(study);
  const measures = study.measures.map((id, k) => measureAt(id, `measures.${k}`));
  const reference = study.reference === undefined ? 0 : settings.findIndex(({ id }) => id === study.reference);
  if (reference < 0) {
    const choices = settings.map(({ id }) => id);
    const shown = choices.length > 12 ? [...choices.slice(0, 12), '…'] : choices;
    throw new StudyError(`reference: must be one of ${shown.join(', ')}, got "${study.reference}"`);
  }
  if (study.test && settings.length < 2) {
    throw new StudyError('strategies: a study with test scenarios must have 2 settings to choose from, got 1');
  }
  const plan: StudyPlan = {
    study,
    files,
    outside,
    // The answer is written when the rows are there: it must not make another study of them.
    hash: jsonHash([{ ...study, answer: '' }, files.map(({ hash }) => hash)]).slice(0, 12),
    conditions,
    settings,
    reference,
    measures,
    catastrophe: { ...CATASTROPHE, ...study.catastrophe },
    replicates: replicatesOf(study),
    blockReplicates: study.blockReplicates ?? DEFAULT_BLOCK_REPLICATES,
    choose: {
      measure: measureAt(study.choose?.measure ?? study.measures[0], 'choose.measure'),
      keepsResponse: study.choose?.keepsResponse ?? true,
    },
  };
  checkBudget(plan);
  return plan;
}

function measureAt(id: string, place: string): Measure {
  try {
    return studyMeasure(id);
  } catch (error) {
    throw new StudyError(`${place}: ${(error as Error).message}`);
  }
}

function replicatesOf({ replicates, search }: StudyDocument): StudyPlan['replicates'] {
  if (typeof replicates === 'number') {
    if (search?.kind === 'successive-halving' && replicates < 3) {
      throw new StudyError(`replicates: must be at least 3 for successive-halving, got ${replicates}`);
    }
    return { from: replicates, to: replicates, until: null };
  }
  const { from, to, until } = replicates;
  if (!(from <= to)) throw new StudyError(`replicates.to: must be at least from (${from}), got ${to}`);
  if (search?.kind === 'successive-halving') {
    throw new StudyError('replicates: must be a whole number for successive-halving, got from, to and until');
  }
  const measure = measureAt(until.measure, 'replicates.until.measure');
  return { from, to, until: { measure, halfWidthPercent: until.halfWidthPercent } };
}

/** The recordings that a study needs at the very least: one for each condition and replicate. */
function leastRecordings({ conditions, replicates }: StudyPlan): number {
  return conditions.length * replicates.from;
}

function checkBudget(plan: StudyPlan): void {
  const { budget } = plan.study;
  if (!budget) return;
  const least = leastRecordings(plan);
  if (!(budget.recordings >= least)) {
    const parts = `${plan.conditions.length} conditions × ${plan.replicates.from} replicates`;
    throw new StudyError(`budget.recordings: must be at least ${least} (${parts}), got ${budget.recordings}`);
  }
}

/** The recordings that a study makes at most, as far as it can be told beforehand. */
export function mostRecordings(plan: StudyPlan): number {
  return Math.min(
    plan.study.budget?.recordings ?? Infinity,
    Math.max(leastRecordings(plan), plan.conditions.length * plan.replicates.to),
  );
}

/** The numbers of the conditions of a part. */
export function conditionNumbers({ conditions }: StudyPlan, part: 'train' | 'test'): number[] {
  return conditions.flatMap((condition, c) => (condition.part === part ? [c] : []));
}
