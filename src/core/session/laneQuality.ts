import { addScaled } from '../averaging/addScaled.ts';
import { finalShares } from '../averaging/finalShares.ts';
import { type AveragingStrategy, belongsToA } from '../averaging/strategy.ts';
import { blockScatter } from '../quality/blockScatter.ts';
import { linearErrorParts } from '../quality/errorParts.ts';
import { evenPoints, fRatioOfGroups } from '../quality/fsp.ts';
import { groupedSweeps, type SweepGroups } from '../quality/groupedSweeps.ts';
import { signFlipTest } from '../quality/nullTest.ts';
import { plusMinus, splitHalfNoiseUv } from '../quality/plusMinus.ts';
import { familywiseRate, spendingLimits } from '../quality/repeatedLooks.ts';
import { residualNoiseUv } from '../quality/residualNoise.ts';
import { estimatedSnr, signalToNoiseDb } from '../quality/signalToNoise.ts';
import { type Look, type StoppedAt, type StoppingChoice, stopAt } from '../quality/stoppingRules.ts';
import { type WeightQuality, weightQuality } from '../quality/weightQuality.ts';
import type { Scenario } from '../scenario/schema.ts';
import { chosenTruth } from './chosenTruth.ts';
import { labelledSweeps } from './labelledSweeps.ts';
import { laneField } from './laneField.ts';
import { type LaneSetting, laneReader } from './lanes.ts';
import { averagingContext, startSession, sweepMeta } from './session.ts';

/** What an average is worth, by measures that need the whole of one run. µV where a unit applies; NaN for what cannot be told. */
interface LaneQuality extends LaneSetting {
  /** Noise by the difference of the lane's own split buffers. */
  plusMinusUv: number;
  residualNoiseUv: number;
  /** The same without what the weights did to the response; NaN where the average is no weighted sum of sweeps. */
  noiseOnlyUv: number;
  /** What the weights did to the response, Σw·s − truth; NaN likewise. */
  biasUv: number;
  ownNoiseUv: number;
  /** Claim from blocks of 32 sweeps over claim from sweeps, what chance allows, and whether it lies outside. */
  neighbours: { ratio: number; low: number; high: number; warning: boolean };
  /** dB, with the truth known. */
  trueSnrDb: number;
  /** Ratio of sizes, as it can be estimated without the truth. */
  estimatedSnr: number;
  /** Weights against the true noise of every sweep; bursts of muscle, movement and the like count as disturbance. */
  weights: WeightQuality;
  /** Where each stopping rule, by its usual settings and the target of the session, would have ended it. */
  stops: { rule: string; seconds: number; verdict: string; reason: string }[];
  /** Ten looks at Fmp; null where sign flips do not hold for the strategy, or there are too few sweeps. */
  looks: RepeatedLooks | null;
}

/** What one run is worth. */
export interface RunQuality {
  /** Noise of the plain mean by the plus–minus reference, µV: every other sweep, and every other pair, upside down. */
  plusMinusBySweepsUv: number;
  plusMinusByPairsUv: number;
  lanes: LaneQuality[];
}

/** What looking again and again does to a test. */
interface RepeatedLooks {
  count: number;
  /** Share of runs without a response in which at least one look at a single-look limit of 5 % raises an alarm. */
  falseAlarms: number;
  /** First look (from 1) above its limit of 5 % for all looks together (Pocock's spending); null for none. */
  presentAt: number | null;
}

const LOOKS = 10; // our choice
const CHANCE_RUNS = 400; // our choice: 5 % known to 1.1 %
const FEWEST_GROUPS = 60; // so that the first of ten looks has six groups to flip
const DISTURBANCES = ['muscle', 'swallow', 'blink', 'saccade', 'movement', 'child', 'shiver', 'diathermy'];

/**
 * Judges every lane's weights and final average by one run: its noise by other means, its neighbours, SNR, when one could stop.
 *
 * Costs five runs. Looks at Fmp use the final shares, so a delayed or forgetting lane would have looked a little different.
 *
 * @param outside - strategies that are not the lab's own   @returns a generator of progress 0 … 1, then the figures
 */
export function* laneQuality(
  scenario: Scenario,
  seed: string,
  settings: readonly LaneSetting[],
  outside: readonly AveragingStrategy[] = [],
): Generator<number, RunQuality> {
  const context = averagingContext(scenario);
  const channel = scenario.averaging.channel === 'ipsilateral' ? 0 : 1;
  const { samplesPerSweep, analysisFrom: from, analysisTo: to } = context;
  const { targetNv, durationS } = scenario.session;
  const decisions = settings.map(() => [] as { index: number; weight: number; fade: number }[]);
  const listeners = decisions.map(
    (list) =>
      ({ index, weight, fade }: { index: number; weight: number; fade: number }) =>
        void list.push({ index, weight, fade }),
  );
  const field = laneField(settings, context, listeners, outside);
  const read = laneReader(context);
  const truth = chosenTruth(scenario, seed, channel);
  const first = startSession(scenario, seed);
  const looks = settings.map(() => [] as Look[]);
  const averageUv = new Float64Array(samplesPerSweep);
  for (let sweep = first.nextSweep(); sweep; sweep = first.nextSweep()) {
    field.add(sweep.recordedUv[channel], sweepMeta(sweep, channel, field));
    truth.add(sweep.truthUv[channel], sweep.recordedUv[channel]);
    const done = sweep.index + 1;
    if (Math.floor((2 * LOOKS * done) / first.sweepCount) > Math.floor((2 * LOOKS * sweep.index) / first.sweepCount)) {
      for (const [lane, { averager }] of field.now().entries()) {
        averager.read(averageUv);
        const { ownNoiseUv } = read({ averager }, null);
        looks[lane].push({
          sweepCount: done,
          seconds: sweep.timeS,
          sessionS: durationS,
          noiseNv: 1000 * ownNoiseUv,
          snr: estimatedSnr(averageUv.subarray(from, to), ownNoiseUv),
          statistic: NaN, // the looks below decide on this
          limit: Infinity,
        });
      }
    }
    if (sweep.index % 500 === 499) yield (0.3 * sweep.index) / first.sweepCount;
  }
  const lanes = field.finish();
  const shares = decisions.map((list) => finalShares(list, first.sweepCount));
  const scatters = settings.map(() => blockScatter(samplesPerSweep, 32));
  const gatherers = settings.map(() => groupedSweeps(from, to));
  const weightedResponsesUv = settings.map(() => new Float64Array(samplesPerSweep)); // Σ w·s, shares add up to 1
  const bySweeps = plusMinus(samplesPerSweep, 'sweeps');
  const byPairs = plusMinus(samplesPerSweep, 'pairs');
  const second = startSession(scenario, seed);
  for (let sweep = second.nextSweep(); sweep; sweep = second.nextSweep()) {
    for (let lane = 0; lane < settings.length; lane++) {
      scatters[lane].add(sweep.recordedUv[channel], shares[lane][sweep.index]);
      gatherers[lane].add(sweep.recordedUv[channel], shares[lane][sweep.index]);
      addScaled(weightedResponsesUv[lane], sweep.truthUv[channel], shares[lane][sweep.index]);
    }
    bySweeps.add(sweep.recordedUv[channel], sweep.index);
    byPairs.add(sweep.recordedUv[channel], sweep.index);
    if (sweep.index % 500 === 499) yield 0.3 + (0.3 * sweep.index) / second.sweepCount;
  }
  const labels = labelledSweeps(scenario, seed, DISTURBANCES);
  yield 0.9;
  const truthUv = new Float64Array(samplesPerSweep);
  truth.read(truthUv);
  const judged = lanes.map(({ strategy, averager }, lane) => {
    averager.read(averageUv);
    const [bufferAUv, bufferBUv] = [new Float64Array(samplesPerSweep), new Float64Array(samplesPerSweep)];
    averager.readPair(bufferAUv, bufferBUv);
    const ownNoiseUv = averager.ownNoiseUv();
    const noiseUv = residualNoiseUv(averageUv, truthUv, from, to);
    const parts = strategy.approximateShares
      ? { noiseUv: NaN, biasUv: NaN }
      : linearErrorParts(averageUv, weightedResponsesUv[lane], truthUv, from, to);
    const { ratio, low, high, warning } = scatters[lane].correlation(from, to);
    const rules: StoppingChoice[] = [
      { rule: 'fixed-count', parameters: { sweepCount: 2000 } },
      { rule: 'noise-target', parameters: { targetNv } },
      { rule: 'snr-or-floor', parameters: { snr: 3, floorNv: 16 } },
      { rule: 'futility', parameters: { targetNv, fromShare: 0.1 } },
    ];
    return {
      ...settings[lane],
      plusMinusUv: splitHalfNoiseUv(bufferAUv, bufferBUv, from, to, shareOfA(shares[lane])),
      residualNoiseUv: noiseUv,
      noiseOnlyUv: parts.noiseUv,
      biasUv: parts.biasUv,
      ownNoiseUv,
      neighbours: { ratio, low, high, warning },
      trueSnrDb: signalToNoiseDb(truthUv, noiseUv, from, to),
      estimatedSnr: estimatedSnr(averageUv.subarray(from, to), ownNoiseUv),
      weights: weightQuality(labels.map((label, k) => ({ ...label, weight: shares[lane][k] }))),
      stops: rules.map((rule) => stopOf(looks[lane], stopAt(looks[lane], [rule]), rule.rule)),
      looks: strategy.signFree ? repeatedLooks(gatherers[lane].groups(), to - from, seed) : null,
    };
  });
  field.release();
  return {
    plusMinusBySweepsUv: bySweeps.noiseUv(from, to),
    plusMinusByPairsUv: byPairs.noiseUv(from, to),
    lanes: judged,
  };
}

function stopOf(looks: readonly Look[], at: StoppedAt, rule: string): LaneQuality['stops'][0] {
  const { look, verdict, reason } = at;
  return { rule, seconds: at.rule === rule ? looks[look].seconds : Infinity, verdict, reason };
}

/** Share of the weight that lies in buffer A: alternate pairs of sweeps. */
function shareOfA(shares: ArrayLike<number>): number {
  let inA = 0;
  let all = 0;
  for (let k = 0; k < shares.length; k++) {
    all += shares[k];
    if (belongsToA(k)) inA += shares[k];
  }
  return all > 0 ? inA / all : 0.5;
}

/** Looks at growing parts of the session, each compared with the same sweeps in which groups are turned upside down. */
function repeatedLooks(groups: SweepGroups, pointCount: number, seed: string): RepeatedLooks | null {
  if (groups.groupCount < FEWEST_GROUPS) return null;
  const statistic = fRatioOfGroups(pointCount, evenPoints(pointCount, Math.min(20, pointCount)));
  const ends = Array.from({ length: LOOKS }, (_, k) => Math.floor(((k + 1) * groups.groupCount) / LOOKS));
  const looksAt = (whole: SweepGroups) =>
    ends.map((groupCount) =>
      statistic({
        ...whole,
        groupCount,
        sumsUv: whole.sumsUv.subarray(0, groupCount * pointCount),
        weights: whole.weights.subarray(0, groupCount),
      }),
    );
  const chance: number[][] = [];
  const values = looksAt(groups);
  // The flips of the whole session, looked at on the way: the test's own p is not wanted here.
  const record = (whole: SweepGroups) => {
    chance.push(looksAt(whole));
    return chance.length;
  };
  signFlipTest(groups, record, CHANCE_RUNS, seed);
  chance.shift(); // the first is the recording itself
  const single = ends.map((_, k) => {
    const falling = chance.map((run) => run[k]).sort((a, b) => b - a);
    return falling[Math.floor(0.05 * CHANCE_RUNS)];
  });
  const shares = ends.map((end) => end / groups.groupCount);
  const limits = spendingLimits(chance, shares, 0.05, 'pocock');
  const present = values.findIndex((value, k) => value > limits[k]);
  return {
    count: LOOKS,
    falseAlarms: familywiseRate(chance, single),
    presentAt: present < 0 ? null : present + 1,
  };
}
