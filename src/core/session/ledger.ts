import { finalShares } from '../averaging/finalShares.ts';
import type { AveragingStrategy } from '../averaging/strategy.ts';
import { noiseSources } from '../noise/index.ts';
import { evokedResponse } from '../response/evokedResponse.ts';
import { scenarioStages } from '../scenario/resolve.ts';
import type { Scenario } from '../scenario/schema.ts';
import { chosenTruth } from './chosenTruth.ts';
import { laneField } from './laneField.ts';
import type { LaneSetting } from './lanes.ts';
import { leaveOneOut } from './leaveOneOut.ts';
import { averagingContext, RESPONSE_NOISE, startSession, sweepMeta } from './session.ts';

/** One line of the ledger. */
interface LedgerRow {
  /** 'response', the id of a noise source, or 'remainder'. */
  id: string;
  label: string;
  /** What this part adds to the error of the average, µV, over the analysis window. */
  errorUv: Float64Array;
  rmsNv: number;
}

/** The error of one lane's average, taken apart. */
export interface NoiseLedger extends LaneSetting {
  /** Error of the average against the session-mean truth, nV rms: what the rows add up to. */
  totalNv: number;
  rows: LedgerRow[];
  /** mean over the window of row a · row b, nV²: the diagonal is each row's power, the rest are the cross terms. */
  productsNv2: number[][];
  /**
   * True if the average is a weighted sum of the sweeps with the shares that the strategy told: the rows are then
   * exact. Otherwise each row is what the average gains by leaving the source out, and the remainder what those miss.
   * A lane that used no sweep has no average: nothing is approximate then, and every figure is NaN.
   */
  exact: boolean;
}

/**
 * Takes the error of each lane's average apart: which source of noise is to blame for how much.
 *
 *     estimate − truth = [Σ w·s − s_ref] (response) + Σ_source Σ w·n_source + remainder
 *
 * The final shares w of a first run are applied to every source, carried alone through the linear part of the same
 * chain. The remainder is what the linear parts do not explain: clipping, recovery tails and rounding. Strategies that are
 * no weighted sums get a row for what leaving each source out changes. Costs one run for the race and one for each
 * source, and as many again if there are such strategies.
 *
 * @returns a generator of progress 0 … 1, then one ledger per lane
 */
export function* noiseLedger(
  scenario: Scenario,
  seed: string,
  settings: readonly LaneSetting[],
  outside: readonly AveragingStrategy[] = [],
): Generator<number, NoiseLedger[]> {
  const context = averagingContext(scenario);
  const channel = scenario.averaging.channel === 'ipsilateral' ? 0 : 1;
  const { samplesPerSweep, analysisFrom, analysisTo } = context;
  const sources = noiseSources.filter(({ id }) => !(scenario.session.mute as readonly string[]).includes(id));
  const runCount = sources.length + 3; // at most: progress need not be exact
  let runsDone = 0;

  const decisions = settings.map(() => [] as { index: number; weight: number; fade: number }[]);
  const field = laneField(
    settings,
    context,
    decisions.map(
      (list) =>
        ({ index, weight, fade }) =>
          void list.push({ index, weight, fade }),
    ),
    outside,
  );
  const truth = chosenTruth(scenario, seed, channel);
  const session = startSession(scenario, seed);
  for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
    field.add(sweep.recordedUv[channel], sweepMeta(sweep, channel, field));
    truth.add(sweep.truthUv[channel], sweep.recordedUv[channel]);
    if (sweep.index % 500 === 499) yield (runsDone + sweep.index / session.sweepCount) / runCount;
  }
  const lanes = field.finish();
  runsDone++;
  const shares = decisions.map((list) => finalShares(list, session.sweepCount));

  /** Applies the final shares of every lane to one run's sweeps. */
  function* weightedSums(
    onlySource: string | null,
  ): Generator<number, { recordedUv: Float64Array[]; truthUv: Float64Array[] }> {
    const sums = {
      recordedUv: shares.map(() => new Float64Array(samplesPerSweep)),
      truthUv: shares.map(() => new Float64Array(samplesPerSweep)),
    };
    const run = startSession(scenario, seed, 1024, onlySource);
    for (let sweep = run.nextSweep(); sweep; sweep = run.nextSweep()) {
      for (const [lane, laneShares] of shares.entries()) {
        const share = laneShares[sweep.index];
        if (share === 0) continue;
        addScaled(sums.recordedUv[lane], share, sweep.recordedUv[channel]);
        if (onlySource === null) addScaled(sums.truthUv[lane], share, sweep.truthUv[channel]);
      }
      if (sweep.index % 500 === 499) yield (runsDone + sweep.index / run.sweepCount) / runCount;
    }
    runsDone++;
    return sums;
  }

  const truthUv = new Float64Array(samplesPerSweep);
  truth.read(truthUv);
  const { recordedUv, truthUv: responseUv } = yield* weightedSums(null);
  const parts: { id: string; label: string; sumsUv: Float64Array[] }[] = [];
  const stages = scenarioStages(scenario); // a source may come with an event
  for (const { id, label, create } of sources) {
    if (stages.every((stage) => create(stage.scenario, seed) === null)) continue;
    parts.push({ id, label, sumsUv: (yield* weightedSums(id)).recordedUv });
  }
  const muted: readonly string[] = scenario.session.mute;
  if (evokedResponse(scenario, seed).addNoiseUv && !muted.includes(RESPONSE_NOISE)) {
    const { recordedUv: sumsUv } = yield* weightedSums(RESPONSE_NOISE);
    parts.push({ id: RESPONSE_NOISE, label: 'Firing of the muscle', sumsUv });
  }

  const difference = (a: Float64Array, b: Float64Array) => a.map((value, i) => value - b[i]);
  const inWindow = (values: Float64Array) => values.slice(analysisFrom, analysisTo);
  const estimatesUv = lanes.map(({ averager }) => {
    const estimateUv = new Float64Array(samplesPerSweep);
    averager.read(estimateUv);
    return estimateUv;
  });
  // The strategy's average must be what its shares make of the recorded sweeps, up to rounding.
  const empty = lanes.map(({ averager }) => averager.usedCount() === 0);
  const exact = estimatesUv.map((estimateUv, lane) => {
    if (empty[lane]) return true;
    const mismatchUv = rms(inWindow(difference(estimateUv, recordedUv[lane])));
    return mismatchUv <= 1e-9 * (1 + rms(inWindow(estimateUv)));
  });
  const bent = settings.map((_, lane) => lane).filter((lane) => !exact[lane]);
  if (bent.length > 0) {
    const ids = ['response', ...parts.map(({ id }) => id)];
    const bentEstimates = bent.map((lane) => estimatesUv[lane]);
    const bentSettings = bent.map((lane) => settings[lane]);
    const steps = leaveOneOut(scenario, seed, bentSettings, ids, bentEstimates, outside);
    let step = steps.next();
    for (; !step.done; step = steps.next()) yield 0.99;
    for (const [k, lane] of bent.entries()) {
      responseUv[lane] = step.value[0][k];
      for (const [p, part] of parts.entries()) part.sumsUv[lane] = step.value[p + 1][k];
    }
  }

  for (const [lane, isEmpty] of empty.entries()) {
    if (isEmpty) for (const sumsUv of [responseUv, ...parts.map((part) => part.sumsUv)]) sumsUv[lane].fill(NaN);
  }

  return settings.map((setting, lane) => {
    const totalUv = difference(estimatesUv[lane], truthUv);
    const explained = [
      { id: 'response', label: 'Response changed', errorUv: difference(responseUv[lane], truthUv) },
      ...parts.map(({ id, label, sumsUv }) => ({ id, label, errorUv: sumsUv[lane] })),
    ];
    const remainderUv = totalUv.map((value, i) => explained.reduce((rest, row) => rest - row.errorUv[i], value));
    const rows = [...explained, { id: 'remainder', label: 'Clipping and rounding', errorUv: remainderUv }].map(
      ({ id, label, errorUv }) => ({ id, label, errorUv: inWindow(errorUv), rmsNv: 1000 * rms(inWindow(errorUv)) }),
    );
    return {
      ...setting,
      totalNv: 1000 * rms(inWindow(totalUv)),
      rows,
      productsNv2: rows.map((a) => rows.map((b) => 1e6 * meanProduct(a.errorUv, b.errorUv))),
      exact: exact[lane],
    };
  });
}

function addScaled(sum: Float64Array, factor: number, values: Float64Array): void {
  for (let i = 0; i < sum.length; i++) sum[i] += factor * values[i];
}

function meanProduct(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i] * b[i];
  return sum / a.length;
}

function rms(values: Float64Array): number {
  return Math.sqrt(meanProduct(values, values));
}
