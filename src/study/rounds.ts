import { type Block, blocksOf } from './block.ts';
import { rankSettings, type Score } from './choose.ts';
import { type Gathered, valuesOfMeasure } from './gathered.ts';
import { conditionNumbers, type StudyPlan } from './plan.ts';
import { bootstrap } from './statistics/bootstrap.ts';
import { centreOf } from './statistics/centre.ts';

/** Blocks that can be run in any order, and what they are for. */
export interface Round {
  name: string;
  blocks: Block[];
}

/**
 * The rounds of a study, one after the other: each depends on all rows of those before, and on nothing else.
 *
 * Give the rows back with `next(gathered)` when all blocks of a round are in. One round for a grid; several for a
 * precision or for successive halving; the sealed test scenarios come last, for the chosen setting and the reference.
 *
 * @returns the ranking of the settings, best first; empty without test scenarios and without halving
 */
export function* roundsOf(plan: StudyPlan): Generator<Round, Score[], Gathered> {
  const train = conditionNumbers(plan, 'train');
  const test = conditionNumbers(plan, 'test');
  const all = plan.settings.map((_, k) => k);
  const halving = plan.study.search?.kind === 'successive-halving' ? plan.study.search : null;
  let gathered: Gathered;
  let reached = plan.replicates.from;
  if (halving) gathered = yield* halve(plan, train, all, halving.keepOneIn);
  else {
    gathered = yield { name: 'all settings', blocks: side(plan, train, 0, plan.replicates.from, all) };
    reached = yield* untilPrecise(plan, train, all, gathered);
  }
  if (test.length === 0) return [];
  const finalists = halving
    ? all.filter((k) => gathered.cell(train[0], k).replicates.length >= plan.replicates.to)
    : all;
  const ranking = rankSettings(plan, gathered, finalists);
  const settings = [...new Set([ranking[0].setting, plan.reference])].sort((a, b) => a - b);
  const affordable = Math.floor((budgetOf(plan) - gathered.recordingCount()) / test.length);
  yield { name: 'sealed test', blocks: side(plan, test, 0, Math.min(reached, affordable), settings) };
  return ranking;
}

/** More replicates for the conditions whose interval is still too wide. @returns the most replicates of a condition */
function* untilPrecise(
  plan: StudyPlan,
  train: number[],
  settings: number[],
  first: Gathered,
): Generator<Round, number, Gathered> {
  const { from, to, until } = plan.replicates;
  let gathered = first;
  if (!until) return from;
  const counts = new Map(train.map((condition) => [condition, from]));
  const kept = plan.conditions.length - train.length; // conditions whose replicates must stay affordable
  for (let round = 2; ; round++) {
    const blocks: Block[] = [];
    let left = budgetOf(plan) - gathered.recordingCount() - kept * from;
    for (const condition of train) {
      const count = counts.get(condition) as number;
      const wide = settings.some((setting) => !isNarrow(plan, gathered, condition, setting));
      // Half as many again: few looks, and little overshoot.
      const next = Math.min(to, count + Math.max(plan.blockReplicates, Math.ceil(count / 2)));
      if (!wide || next === count || next - count > left) continue;
      left -= next - count;
      blocks.push(...blocksOf(plan, condition, count, next, settings));
      counts.set(condition, next);
    }
    if (blocks.length === 0) return Math.max(...counts.values());
    gathered = yield { name: `precision ${round}`, blocks };
  }
}

function isNarrow(plan: StudyPlan, gathered: Gathered, condition: number, setting: number): boolean {
  const { until } = plan.replicates;
  if (!until) return true;
  const { measure, halfWidthPercent } = until;
  const values = valuesOfMeasure(gathered.cell(condition, setting), measure);
  const { value, low, high } = bootstrap(values.length, (chosen) => centreOf(measure.centre, values, chosen));
  return (high - low) / 2 <= (halfWidthPercent / 100) * Math.abs(value);
}

/** Few patients for all settings, then more and more patients for the better part of them. */
function* halve(
  plan: StudyPlan,
  train: number[],
  all: number[],
  keepOneIn: number,
): Generator<Round, Gathered, Gathered> {
  const total = plan.replicates.to;
  let rungCount = 0;
  for (let count = all.length; count > 1; count = Math.ceil(count / keepOneIn)) rungCount++;
  let settings = all;
  let done = 0;
  let gathered: Gathered | null = null;
  for (let rung = 0; rung <= rungCount; rung++) {
    let share = total;
    for (let k = rung; k < rungCount; k++) share /= keepOneIn;
    const replicates = rung === rungCount ? total : Math.min(total, Math.max(3, Math.ceil(share)));
    if (replicates > done) {
      const name = `halving ${rung + 1} of ${rungCount + 1}: ${settings.length} settings`;
      gathered = yield { name, blocks: side(plan, train, done, replicates, settings) };
      done = replicates;
    }
    if (rung === rungCount || !gathered) continue;
    const ranking = rankSettings(plan, gathered, settings);
    const kept = ranking.slice(0, Math.ceil(settings.length / keepOneIn)).map(({ setting }) => setting);
    settings = [...new Set([...kept, plan.reference])].sort((a, b) => a - b);
  }
  return gathered as Gathered;
}

/** Replicates [from, to) of all given conditions, conditions in turn, so that partial results are balanced. */
function side(plan: StudyPlan, conditions: number[], from: number, to: number, settings: number[]): Block[] {
  const columns = conditions.map((condition) => blocksOf(plan, condition, from, to, settings));
  return (columns[0] ?? []).flatMap((_, k) => columns.map((column) => column[k]));
}

function budgetOf(plan: StudyPlan): number {
  return plan.study.budget?.recordings ?? Infinity;
}
