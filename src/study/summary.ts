import { rankSettings, type Score } from './choose.ts';
import { type Comparison, compareSettings } from './comparisons.ts';
import { type Gathered, valuesOfMeasure } from './gathered.ts';
import { conditionNumbers, type StudyPlan } from './plan.ts';
import { bootstrap, type Interval } from './statistics/bootstrap.ts';
import { centreOf } from './statistics/centre.ts';
import { exactRate } from './statistics/exactRate.ts';
import { type TradeOff, tradeOffs } from './tradeOff.ts';

/** What is known of one setting in one condition. */
interface CellSummary {
  condition: number;
  setting: number;
  count: number;
  /** In the order of the study's measures. */
  measures: Interval[];
  catastropheCount: number;
  catastrophe: Interval;
}

/** Whether the setting that was chosen on the train scenarios keeps its advantage on the sealed ones. */
interface CarryOver {
  chosen: number;
  train: Comparison | null;
  test: Comparison | null;
  /** A sentence that warns, or null. */
  warning: string | null;
}

/** All that a report tells. */
export interface StudySummary {
  cells: CellSummary[];
  /** Settings by the study's own rule, the best first; only those with all replicates. */
  ranking: Score[];
  comparisons: Comparison[];
  tradeOffs: TradeOff[];
  carryOver: CarryOver | null;
  recordingCount: number;
  rowCount: number;
}

/** Works out the statistics of what was gathered. */
export function summarise(plan: StudyPlan, gathered: Gathered): StudySummary {
  const train = conditionNumbers(plan, 'train');
  const test = conditionNumbers(plan, 'test');
  const all = plan.settings.map((_, k) => k);
  const most = Math.max(0, ...all.map((k) => gathered.cell(train[0], k).replicates.length));
  // Settings that halving dropped early have few replicates: they are not ranked against those with many.
  const full = all.filter((k) => most > 0 && gathered.cell(train[0], k).replicates.length === most);
  const ranking = rankSettings(plan, gathered, full);
  const cells = plan.conditions.flatMap((_, condition) =>
    all.flatMap((setting) => cellSummary(plan, gathered, condition, setting) ?? []),
  );
  const comparisons = plan.measures.flatMap((measure) => [
    ...compareSettings(plan, gathered, measure, 'train', train, full),
    ...(train.length > 1 ? train.flatMap((c) => compareSettings(plan, gathered, measure, 'train', [c], full)) : []),
  ]);
  return {
    cells,
    ranking,
    comparisons,
    tradeOffs: tradeOffs(
      gathered,
      train,
      ranking.map(({ setting }) => setting),
    ),
    carryOver:
      test.length > 0 && ranking.length > 0 ? carryOver(plan, gathered, ranking[0].setting, train, test) : null,
    recordingCount: gathered.recordingCount(),
    rowCount: gathered.rowCount(),
  };
}

function cellSummary(plan: StudyPlan, gathered: Gathered, condition: number, setting: number): CellSummary | null {
  const cell = gathered.cell(condition, setting);
  const count = cell.replicates.length;
  if (count === 0) return null;
  const catastropheCount = cell.catastrophes.reduce((sum, value) => sum + value, 0);
  return {
    condition,
    setting,
    count,
    measures: plan.measures.map((measure) => {
      const values = valuesOfMeasure(cell, measure);
      return bootstrap(count, (chosen) => centreOf(measure.centre, values, chosen));
    }),
    catastropheCount,
    catastrophe: exactRate(catastropheCount, count),
  };
}

function carryOver(plan: StudyPlan, gathered: Gathered, chosen: number, train: number[], test: number[]): CarryOver {
  const { measure } = plan.choose;
  const name = (setting: number) => `"${plan.settings[setting].id}"`;
  if (chosen === plan.reference) {
    const warning = `No setting did better than the reference ${name(chosen)} on the train scenarios: nothing was tuned.`;
    return { chosen, train: null, test: null, warning };
  }
  const [onTrain] = compareSettings(plan, gathered, measure, 'train', train, [chosen]);
  const [onTest] = compareSettings(plan, gathered, measure, 'test', test, [chosen]);
  return { chosen, train: onTrain, test: onTest, warning: carryOverWarning(onTrain, onTest, name(chosen)) };
}

function carryOverWarning(onTrain: Comparison, onTest: Comparison, name: string): string | null {
  if (onTest.count < 3) return 'The sealed scenarios have fewer than 3 patients: they cannot tell.';
  const [trainSide, testSide] = [sideOf(onTrain), sideOf(onTest)];
  if (trainSide === 0)
    return `The advantage of ${name} was not certain on the train scenarios: its interval holds "no difference".`;
  if (testSide === trainSide) return null;
  const what = testSide === 0 ? 'its interval there holds "no difference"' : 'there it does worse than the reference';
  return `The advantage of ${name} does not carry over to the sealed scenarios: ${what}.`;
}

/** −1 or +1 if the interval excludes "no difference", else 0. */
function sideOf({ effect, isRatio }: Comparison): number {
  const none = isRatio ? 1 : 0;
  if (effect.low > none) return 1;
  return effect.high < none ? -1 : 0;
}
