import type { StudyPlan } from '../plan.ts';
import { conditionNumbers } from '../plan.ts';
import { seedOf } from '../settings.ts';
import type { StudySummary } from '../summary.ts';

/** The sentences that the methods section of a paper needs, from the plan and what was run. */
export function methodsSentences(plan: StudyPlan, summary: StudySummary, version: string): string[] {
  const { study, settings, conditions, catastrophe, choose, blockReplicates } = plan;
  const train = conditionNumbers(plan, 'train').length;
  const test = conditionNumbers(plan, 'test').length;
  const reference = settings[plan.reference].id;
  const measures = plan.measures.map(({ label, unit }) =>
    unit ? `${label.toLowerCase()} (${unit})` : label.toLowerCase(),
  );
  const sentences = [
    `Recordings were simulated with Sweepwise ${version} (study ${study.id}, hash ${plan.hash}, seed "${seedOf(study)}"); the simulation is a teaching model, and its values are not normative.`,
    `${counted(settings.length, 'setting')} of ${new Set(settings.map(({ strategy }) => strategy)).size} averaging strategies competed in ${counted(train, 'condition')}${test > 0 ? ` and, after the choice had been made, in ${counted(test, 'sealed test condition')}` : ''}; all settings got the same sweeps of the same simulated patients, and a patient had the same seed in every condition.`,
    replicatesSentence(plan),
    searchSentence(plan),
    `In all, ${counted(summary.recordingCount, 'patient')} were recorded, giving ${counted(summary.rowCount, 'row')}; work was done in seed blocks of ${blockReplicates}.`,
    `Measures were ${measures.join(', ')}. A run that did not reach its target counts with the whole session as its time.`,
    `A run counted as a catastrophe if it gave no average, its residual noise ended above ${catastrophe.noiseTimesTarget} times the target, or less than ${catastrophe.gainBelow} of the response was left; rates have exact 95 % intervals (Clopper and Pearson 1934).`,
    `Settings were compared with "${reference}" in pairs on the same patients. Intervals are 95 % percentile bootstrap intervals over patients (Efron 1979, 1000 resamples); p values are from Wilcoxon's signed-rank test (1945), adjusted for the number of settings after Holm (1979).`,
  ];
  if (conditions.length > 1) {
    sentences.push('Over several conditions each patient counts once, with the mean of its differences.');
  }
  if (test > 0) {
    sentences.push(
      `The setting was chosen by ${choose.measure.label.toLowerCase()} on the train scenarios${choose.keepsResponse ? ', among those that left the gain of the response within 0.95 to 1.05' : ''}; the test scenarios had other patients and took no part in the choice.`,
    );
  }
  return sentences.filter((sentence) => sentence !== '');
}

function replicatesSentence({ replicates }: StudyPlan): string {
  const { from, to, until } = replicates;
  if (!until) return `Each condition was recorded on ${counted(to, 'simulated patient')}.`;
  return `Each condition was recorded on ${from} to ${to} simulated patients, until the half-width of the 95 % interval of ${until.measure.label.toLowerCase()} was at most ${until.halfWidthPercent} % for every setting; looking again after each round makes such intervals slightly too narrow.`;
}

function searchSentence({ study }: StudyPlan): string {
  const { search } = study;
  if (search?.kind === 'latin-hypercube') {
    return `Settings were spread over the ranges of the parameters by a Latin hypercube of ${search.points} points for each strategy (McKay, Beckman and Conover 1979).`;
  }
  if (search?.kind === 'successive-halving') {
    return `Settings were narrowed down by successive halving: one in ${search.keepOneIn} was kept at each step and run on more patients; figures of settings dropped early rest on few patients.`;
  }
  return '';
}

function counted(count: number, noun: string): string {
  return `${count} ${noun}${count === 1 ? '' : 's'}`;
}
