import { changesResponse } from '../core/quality/amplitudeGain.ts';
import { type Expected, meanOf, overReplicates, rmsOf } from '../core/quality/replicates.ts';
import { type FigureSource, laneName, shortNumber } from './figureParts.ts';
import { allOf, arrival } from './figures.ts';
import { cacheKey, measureRun, patientCountOf, type RunCache, type RunMeasure } from './hiddenRuns.ts';
import { lanesToMeasure, runsToRead } from './lanesToMeasure.ts';
import { checkLearnerSettings, runOf, type Settings, scenarioOf } from './lessonRun.ts';
import { type Answers, type Mark, markOutcome, markQuestion, roundPoints } from './markQuestion.ts';
import { type Lesson, PART_POINTS, type Part } from './schema.ts';
import { brierShare } from './score.ts';

/** What a learner hands in. */
export interface Attempt {
  /** Any text; decides which hidden patients are used, unless the lesson shares them between all attempts. */
  attemptSeed: string;
  settings: Settings;
  answers: Answers;
  /** How sure of each prediction, in percent, by question id; a missing one counts as 50. */
  confidence?: Readonly<Record<string, number>>;
  /** Number of hints that were opened. */
  hintCount?: number;
  /** Different looks at unlabelled patients. */
  lookCount?: number;
}

/** How one strategy did in the reported run, over its hidden patients. */
interface StrategyReport {
  strategy: string;
  label: string;
  /** Null for never within the session. The interval's end is Infinity where some draws of patients never arrive. */
  secondsToTarget: Expected | null;
  residualNoiseNv: Expected;
  ownNoiseNv: number;
  amplitudeGain: Expected;
  /** The gain is outside 0.95 … 1.05 with its whole interval: this strategy's low noise does not count. */
  hollow: boolean;
  acceptedPercent: number;
}

/** The marked attempt. */
export interface LessonMark {
  points: number;
  /** Points taken for opened hints; `points` is the sum of the parts less these, not below 0. */
  hints: { count: number; cost: number };
  parts: { part: Part; points: number; outOf: number; marks: Mark[] }[];
  report: { title: string; targetNv: number; patientCount: number; seconds: number; strategies: StrategyReport[] };
}

export interface MarkProgress {
  /** The run that is being simulated. */
  title: string;
  /** 0 … 1 of the whole marking. */
  fraction: number;
}

/**
 * Marks an attempt: runs the learner's settings on hidden patients, computes every figure, and gives points for each.
 *
 * A generator, so that a page can show progress and stop it; the return value is the mark. Nothing is compared with a
 * number written down beforehand: predictions, measurements and explanations are all held against what the model
 * gives on the hidden patients.
 *
 * @param cache - keeps measures between calls; the same settings and attempt seed are then not simulated again
 * @throws {RangeError} if a setting is missing or out of the lesson's bounds
 */
export function* markAttempt(
  lesson: Lesson,
  attempt: Attempt,
  cache: RunCache = new Map(),
): Generator<MarkProgress, LessonMark> {
  checkLearnerSettings(lesson, attempt.settings);
  const measures = yield* measureRuns(lesson, attempt, cache);
  const { settings, attemptSeed, lookCount } = attempt;
  const source: FigureSource = { lesson, settings, measures, attemptSeed, lookCount };
  const marks: Record<Part, Mark[]> = {
    predictions: lesson.predictions.map((question) => markQuestion(question, attempt.answers[question.id], source)),
    outcome: lesson.outcome.map((rule) => markOutcome(rule, source)),
    measurements: lesson.measurements.map((question) => markQuestion(question, attempt.answers[question.id], source)),
    explanations: lesson.explanations.map((question) => markQuestion(question, attempt.answers[question.id], source)),
  };
  if (lesson.confidencePoints > 0) {
    marks.predictions.push(markConfidence(lesson, marks.predictions, attempt.confidence ?? {}));
  }
  const count = attempt.hintCount ?? 0;
  const hints = { count, cost: roundPoints(count * lesson.hintCostPoints) };
  const parts = (Object.keys(PART_POINTS) as Part[]).map((part) => ({
    part,
    points: sumOfPoints(marks[part]),
    outOf: PART_POINTS[part],
    marks: marks[part],
  }));
  return {
    points: Math.max(0, Math.round(parts.reduce((sum, { points }) => sum + points, 0) - hints.cost)),
    hints,
    parts,
    report: reportOf(lesson, attempt, measures.get(lesson.report.run) as RunMeasure),
  };
}

/** Marks how sure the learner was: a prediction is right if it got at least half of its points. */
function markConfidence(lesson: Lesson, predictions: readonly Mark[], confidence: Record<string, number>): Mark {
  const right = predictions.map(({ points, outOf }) => points >= outOf / 2);
  const percent = lesson.predictions.map(({ id }) => (Object.hasOwn(confidence, id) ? confidence[id] : NaN));
  const share = brierShare(
    percent.map((value) => value / 100),
    right,
  );
  return {
    id: 'confidence',
    text: 'How sure you were of each prediction',
    points: roundPoints(share * lesson.confidencePoints),
    outOf: lesson.confidencePoints,
    answer: percent.map((value) => (Number.isNaN(value) ? 'not said (50 %)' : `${value} %`)).join(', '),
    finding: `${right.filter(Boolean).length} of ${right.length} right: ${right.map((value) => (value ? 'right' : 'wrong')).join(', ')}`,
    rule: `${lesson.confidencePoints} × (1 − 4 × mean squared difference), not below 0; right is half of the points or more`,
  };
}

/** Measures every run that marking needs, with the settings and seed of an attempt. */
export function* measureRuns(
  lesson: Lesson,
  { settings, attemptSeed }: Pick<Attempt, 'settings' | 'attemptSeed'>,
  cache: RunCache,
): Generator<MarkProgress, Map<string, RunMeasure>> {
  const lanes = lanesToMeasure(lesson);
  const read = runsToRead(lesson);
  const runs = lesson.runs.filter(({ id }) => lanes.has(id));
  const costs = runs.map((run) => {
    const { session, converter } = scenarioOf(lesson, run, settings, attemptSeed);
    return session.durationS * converter.sampleRateHz * patientCountOf(lesson, run);
  });
  const totalCost = costs.reduce((sum, cost) => sum + cost, 0);
  const measures = new Map<string, RunMeasure>();
  let doneCost = 0;
  for (const [k, run] of runs.entries()) {
    const key = cacheKey(lesson, run, settings, attemptSeed);
    let measure = cache.get(key);
    if (!measure) {
      const running = measureRun(lesson, run, settings, attemptSeed, lanes.get(run.id), read.has(run.id));
      let step = running.next();
      while (!step.done) {
        yield { title: run.title, fraction: (doneCost + costs[k] * step.value.fraction) / totalCost };
        step = running.next();
      }
      measure = step.value;
      cache.set(key, measure);
    }
    doneCost += costs[k];
    measures.set(run.id, measure);
  }
  return measures;
}

function reportOf(lesson: Lesson, { settings, attemptSeed }: Attempt, run: RunMeasure): LessonMark['report'] {
  const { targetNv } = lesson.report;
  const lanes = run.lanes.filter(({ id }) => !id.includes('@'));
  const { durationS } = scenarioOf(lesson, runOf(lesson, run.runId), settings, attemptSeed).session;
  return {
    title: run.title,
    targetNv,
    patientCount: run.patientCount,
    seconds: durationS,
    strategies: lanes.map((lane) => {
      const gain = overReplicates(run.patientCount, (chosen) => meanOf(lane.gain, chosen));
      return {
        strategy: lane.strategy,
        label: laneName(lane),
        secondsToTarget:
          arrival(lane, allOf(run), targetNv) < 0
            ? null
            : overReplicates(run.patientCount, (chosen) => {
                const at = arrival(lane, chosen, targetNv);
                return at < 0 ? Infinity : run.seconds[at];
              }),
        residualNoiseNv: overReplicates(run.patientCount, (chosen) => rmsOf(lane.noiseNv, chosen)),
        ownNoiseNv: rmsOf(lane.ownNoiseNv, allOf(run)),
        amplitudeGain: gain,
        hollow: changesResponse(gain),
        acceptedPercent: 100 * meanOf(lane.usedShare, allOf(run)),
      };
    }),
  };
}

/** Puts an expected time in words, with its interval. @example '72 (68 to 77)' */
export function expectedInWords({ value, low, high }: Expected): string {
  const highest = high === Infinity ? 'never' : shortNumber(high);
  return Number.isNaN(low) ? shortNumber(value) : `${shortNumber(value)} (${shortNumber(low)} to ${highest})`;
}

function sumOfPoints(marks: readonly Mark[]): number {
  return marks.reduce((sum, { points }) => sum + points, 0);
}
