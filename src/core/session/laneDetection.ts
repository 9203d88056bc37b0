import { finalShares } from '../averaging/finalShares.ts';
import type { AveragingStrategy, VerdictListener } from '../averaging/strategy.ts';
import type { PlayingNoise } from '../noise/noiseSource.ts';
import { evenPoints, fRatioOfGroups } from '../quality/fsp.ts';
import { groupedSweeps, type SweepGroups } from '../quality/groupedSweeps.ts';
import { hotellingTest } from '../quality/hotelling.ts';
import { bootstrapTest, signFlipTest } from '../quality/nullTest.ts';
import { splitCorrelationOfGroups } from '../quality/splitCorrelation.ts';
import { fallOverGapOfGroups } from '../quality/visualRule.ts';
import type { Scenario } from '../scenario/schema.ts';
import { laneField } from './laneField.ts';
import { type KeptSweeps, laneFlipTest, type ResponseStatistics, testPoints } from './laneFlips.ts';
import type { LaneSetting } from './lanes.ts';
import { averagingContext, startSession, sweepMeta } from './session.ts';

/** Whether a lane's average holds a response, by tests that need every sweep. NaN where a test cannot be made. */
export interface LaneDetection extends LaneSetting {
  /** What was turned upside down: groups under the final weights, sweeps before the averager, or nothing. */
  turned: 'groups' | 'sweeps' | 'nothing';
  /** Average against the noise at the middle of the window. */
  fsp: number;
  fspP: number;
  /** Average against the noise at 20 points of the window. */
  fmp: number;
  fmpP: number;
  /** The same by groups drawn again without the response (bootstrap); NaN where the weights are not fixed. */
  fmpBootstrapP: number;
  /** Split buffer against split buffer. */
  splitCorrelation: number;
  splitP: number;
  /** Largest fall over the mean gap of the split buffers: from 3 on the 3:1 rule says present. */
  fallOverGap: number;
  fallP: number;
  hotellingP: number;
}

const GROUP_FLIPS = 499; // our choice: p from 0.002 on, known to 1 % at 5 %
const LANE_FLIPS = 99; // our choice: p from 0.01 on, known to 2 % at 5 %; each flip runs the averager once more
const COSTLY_FLIPS = 39; // our choice, where a sweep costs a millisecond (matrices, or a process of its own)
const FEWEST_GROUPS = 24; // for 20 bins of Hotelling's test and a few degrees of freedom more
const MOST_KEPT = 6e7; // samples, 0.5 GB: a longer session has no p where sweeps must be kept

/**
 * Tests every lane's final average for a response: Fsp, Fmp, split correlation, Hotelling's T² and the 3:1 ratio.
 *
 * Where the weights do not depend on the sign of the sweeps (`signFree`), the final shares of a first run weigh the sweeps
 * of a second one, and 499 sign flips of groups, and T² as an F, tell the p. Weights from what is left after the average so
 * far do depend on it: a sweep that chance has made alike counts more, and the average confirms itself (a nominal 5 % would
 * be some 15 % for the Kalman-style lane where a sweep holds few independent numbers). Such lanes, and those that are no
 * weighted sum of sweeps, are run again on sweeps turned before the averager, 99 times (39 for outside strategies and those
 * that take off a model; `laneFlipTest`); every p is then from these. Costs two runs, and for each lane of the second kind
 * 100 times its averager and the memory of all sweeps.
 *
 * @param outside - strategies that are not the lab's own   @param background - real noise instead of the simulated
 * @returns a generator of progress 0 … 1, then one entry a lane
 */
export function* laneDetection(
  scenario: Scenario,
  seed: string,
  settings: readonly LaneSetting[],
  outside: readonly AveragingStrategy[] = [],
  background?: (seed: string) => PlayingNoise,
): Generator<number, LaneDetection[]> {
  const context = averagingContext(scenario);
  const channel = scenario.averaging.channel === 'ipsilateral' ? 0 : 1;
  const decisions = settings.map(() => [] as { index: number; weight: number; fade: number }[]);
  const listeners = decisions.map(
    (list): VerdictListener =>
      ({ index, weight, fade }) =>
        void list.push({ index, weight, fade }),
  );
  const field = laneField(settings, context, listeners, outside);
  const isSignFree = field.lanes.map(({ strategy }) => strategy.signFree === true);
  const simulated = isSignFree.includes(false) ? 0.25 : 0.5; // share of the progress that one simulation counts
  const first = startSession(scenario, seed, 1024, null, background?.(seed) ?? null);
  for (let sweep = first.nextSweep(); sweep; sweep = first.nextSweep()) {
    field.add(sweep.recordedUv[channel], sweepMeta(sweep, channel, field));
    if (sweep.index % 500 === 499) yield (simulated * sweep.index) / first.sweepCount;
  }
  field.finish();
  const shares = decisions.map((list) => finalShares(list, first.sweepCount));
  field.release();

  const gatherers = settings.map(() => groupedSweeps(context.analysisFrom, context.analysisTo));
  const kept: KeptSweeps = { sweepsUv: [], metas: [] };
  let keptSamples = isSignFree.includes(false) ? 0 : Infinity;
  const second = startSession(scenario, seed, 1024, null, background?.(seed) ?? null);
  for (let sweep = second.nextSweep(); sweep; sweep = second.nextSweep()) {
    const recordedUv = sweep.recordedUv[channel];
    for (const [lane, gatherer] of gatherers.entries()) gatherer.add(recordedUv, shares[lane][sweep.index]);
    if (keptSamples < MOST_KEPT) {
      const meta = sweepMeta(sweep, channel, field);
      kept.sweepsUv.push(recordedUv.slice());
      kept.metas.push(meta);
      keptSamples += recordedUv.length + (meta.interval?.samplesUv.length ?? 0);
    }
    if (sweep.index % 500 === 499) yield simulated * (1 + sweep.index / second.sweepCount);
  }
  const areAllKept = kept.sweepsUv.length === second.sweepCount;
  const results: LaneDetection[] = [];
  for (const [lane, gatherer] of gatherers.entries()) {
    const groups = gatherer.groups();
    if (groups.groupCount < FEWEST_GROUPS || !(isSignFree[lane] || areAllKept)) {
      results.push({ ...settings[lane], turned: 'nothing', ...named(NOTHING, NOTHING) });
    } else if (isSignFree[lane]) {
      results.push({ ...settings[lane], turned: 'groups', ...groupFlips(groups, seed) });
    } else {
      const isCostly = field.lanes[lane].strategy.subtracts || outside.some(({ id }) => id === settings[lane].strategy);
      const flips = isCostly ? COSTLY_FLIPS : LANE_FLIPS;
      const steps = laneFlipTest(settings[lane], context, kept, flips, seed, outside);
      let step = steps.next();
      for (; !step.done; step = steps.next()) yield 0.5 + (0.5 * (lane + step.value)) / (settings.length + 1);
      results.push({ ...settings[lane], turned: 'sweeps', ...named(step.value.values, step.value.p) });
    }
  }
  return results;
}

const NOTHING: ResponseStatistics = { fsp: NaN, fmp: NaN, splitCorrelation: NaN, fallOverGap: NaN, tSquared: NaN };

function named(values: ResponseStatistics, p: ResponseStatistics) {
  return {
    fsp: values.fsp,
    fspP: p.fsp,
    fmp: values.fmp,
    fmpP: p.fmp,
    fmpBootstrapP: NaN,
    splitCorrelation: values.splitCorrelation,
    splitP: p.splitCorrelation,
    fallOverGap: values.fallOverGap,
    fallP: p.fallOverGap,
    hotellingP: p.tSquared,
  };
}

/** The tests of groups under weights that do not depend on the sign of a sweep. */
function groupFlips(groups: SweepGroups, seed: string) {
  const { pointCount } = groups;
  const points = testPoints(pointCount);
  const flip = (statistic: (flipped: SweepGroups) => number) => signFlipTest(groups, statistic, GROUP_FLIPS, seed);
  const fsp = flip(fRatioOfGroups(pointCount, evenPoints(pointCount, 1)));
  const fmp = flip(fRatioOfGroups(pointCount, points));
  const split = flip(splitCorrelationOfGroups(pointCount));
  const fall = flip(fallOverGapOfGroups(pointCount));
  const { tSquared, p } = hotellingTest(groups, points.length);
  const tests = named(
    { fsp: fsp.value, fmp: fmp.value, splitCorrelation: split.value, fallOverGap: fall.value, tSquared },
    { fsp: fsp.p, fmp: fmp.p, splitCorrelation: split.p, fallOverGap: fall.p, tSquared: p },
  );
  return { ...tests, fmpBootstrapP: bootstrapTest(groups, fRatioOfGroups(pointCount, points), GROUP_FLIPS, seed).p };
}
