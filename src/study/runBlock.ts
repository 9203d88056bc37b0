import { checkedParameters } from '../core/averaging/checkedParameters.ts';
import { scenarioHash } from '../core/scenario/resolve.ts';
import { backgroundNoise, type RecordedBackground } from '../core/session/background.ts';
import { laneOf } from '../core/session/lanes.ts';
import { race } from '../core/session/race.ts';
import type { Block } from './block.ts';
import { patientOf, replicateSeed } from './conditions.ts';
import { isCatastrophe, studyMeasures } from './measures.ts';
import type { StudyPlan } from './plan.ts';
import type { Background, Scalar } from './schema.ts';

/** Gives the recordings of a background, as one channel each. */
export type Backgrounds = (background: Background) => readonly RecordedBackground[];

/** One patient of a block and what every setting made of it. */
interface PatientRows {
  replicate: number;
  scenarioHash: string;
  targetNv: number;
  durationS: number;
  sweepsOffered: number;
  drawn: Record<string, Scalar>;
  /** [setting of the block][catastrophe 0 or 1, then every measure in the order of its list]; null for unknown. */
  figures: (number | null)[][];
}

/** The rows of one block, as they are stored. */
export interface BlockRows {
  block: string;
  study: string;
  version: string;
  patients: PatientRows[];
}

/**
 * Runs one block: the only computation of a study.
 *
 * A generator that tells how far it has come, 0 … 1, so that a terminal can show progress and a page can stop it.
 *
 * @param version - of the program, kept in every row   @param backgrounds - recordings that the study names, by file
 */
function* runBlock(
  plan: StudyPlan,
  block: Block,
  version: string,
  backgrounds: Backgrounds,
): Generator<number, BlockRows> {
  const condition = plan.conditions[block.condition];
  const recordings = condition.background ? backgrounds(condition.background) : null;
  const patients: PatientRows[] = [];
  const outside = [...plan.outside.values()];
  for (let k = 0; k < block.replicateCount; k++) {
    const replicate = block.firstReplicate + k;
    const seed = replicateSeed(plan.study, condition.part, replicate);
    const { scenario, drawn } = patientOf(condition, seedOfDraws(plan, condition.part), replicate);
    const lanes = block.settings.map((number) => {
      const { strategy, parameters, flagAware } = plan.settings[number];
      const own = outside.find(({ id }) => id === strategy);
      if (own) return { strategy, parameters: checkedParameters(own, parameters, `lane ${strategy}`), flagAware };
      return { ...laneOf(scenario, strategy, parameters), flagAware };
    });
    const { targetNv, durationS } = scenario.session;
    const background = recordings ? { background: (own: string) => backgroundNoise(recordings, scenario, own) } : {};
    const running = race(scenario, { seed, replicates: 1, targetNv, lanes, outside, ...background });
    let step = running.next();
    while (!step.done) {
      yield (k + step.value.fraction) / block.replicateCount;
      step = running.next();
    }
    const figures = step.value.lanes.map((lane) => {
      const run = { lane, targetNv, durationS };
      const values = studyMeasures.map((measure) => measure.of(run));
      return [isCatastrophe(run, plan.catastrophe) ? 1 : 0, ...values.map((value) => finiteOrNull(value))];
    });
    const sweepsOffered = step.value.lanes[0].sweepsOffered;
    patients.push({
      replicate,
      scenarioHash: scenarioHash(scenario),
      targetNv,
      durationS,
      sweepsOffered,
      drawn,
      figures,
    });
  }
  return { block: block.id, study: plan.hash, version, patients };
}

/** Runs a block to its end. */
export function rowsOfBlock(plan: StudyPlan, block: Block, version: string, backgrounds: Backgrounds): BlockRows {
  const running = runBlock(plan, block, version, backgrounds);
  let step = running.next();
  while (!step.done) step = running.next();
  return step.value;
}

function seedOfDraws(plan: StudyPlan, part: 'train' | 'test'): string {
  return replicateSeed(plan.study, part, 0);
}

function finiteOrNull(value: number): number | null {
  return Number.isFinite(value) ? value : null;
}
