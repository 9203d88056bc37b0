import { finalShares } from '../averaging/finalShares.ts';
import type { AveragingStrategy } from '../averaging/strategy.ts';
import { evenPoints, fRatioOfGroups } from '../quality/fsp.ts';
import { groupedSweeps } from '../quality/groupedSweeps.ts';
import { hotellingTest } from '../quality/hotelling.ts';
import { signFlipTest } from '../quality/nullTest.ts';
import { splitCorrelationOfGroups } from '../quality/splitCorrelation.ts';
import type { Scenario } from '../scenario/schema.ts';
import { laneField } from './laneField.ts';
import type { LaneSetting } from './lanes.ts';
import { averagingContext, startSession, sweepMeta } from './session.ts';

/** Whether a lane's average holds a response, by tests that need every sweep. NaN where a test cannot be made. */
export interface LaneDetection extends LaneSetting {
  /** False where the tests do not hold for the strategy: every p is then NaN. */
  isValid: boolean;
  /** Fmp over 20 points of the window, noise from group to group. */
  fmp: number;
  fmpP: number;
  /** Even groups against odd ones. */
  splitCorrelation: number;
  splitP: number;
  hotellingP: number;
}

const FLIPS = 499; // our choice: p from 0.002 on, known to 1 % at 5 %
const POINTS = 20;
const FEWEST_GROUPS = 24; // for 20 bins of Hotelling's test and a few degrees of freedom more

/**
 * Tests every lane's final average for a response: sign flips of Fmp and of the split correlation, and Hotelling's T².
 *
 * The final shares of a first run weigh the sweeps of a second one. That is valid where the weights do not depend on the
 * sign of the sweeps (`signFree`). Weights from what is left after the average so far do: a sweep that chance has made
 * alike counts more, and the average confirms itself (a nominal 5 % is some 15 % for the Kalman-style lane where a sweep
 * holds few independent numbers). Such lanes, and those that are no weighted sum of sweeps, get no p. Costs two runs.
 *
 * @param outside - strategies that are not the lab's own   @returns a generator of progress 0 … 1, then one entry a lane
 */
export function* laneDetection(
  scenario: Scenario,
  seed: string,
  settings: readonly LaneSetting[],
  outside: readonly AveragingStrategy[] = [],
): Generator<number, LaneDetection[]> {
  const context = averagingContext(scenario);
  const channel = scenario.averaging.channel === 'ipsilateral' ? 0 : 1;
  const { analysisFrom, analysisTo } = context;
  const decisions = settings.map(() => [] as { index: number; weight: number; fade: number }[]);
  const listeners = decisions.map(
    (list) =>
      ({ index, weight, fade }: { index: number; weight: number; fade: number }) =>
        void list.push({ index, weight, fade }),
  );
  const field = laneField(settings, context, listeners, outside);
  const first = startSession(scenario, seed);
  for (let sweep = first.nextSweep(); sweep; sweep = first.nextSweep()) {
    field.add(sweep.recordedUv[channel], sweepMeta(sweep, channel, field));
    if (sweep.index % 500 === 499) yield (0.5 * sweep.index) / first.sweepCount;
  }
  field.finish();
  const shares = decisions.map((list) => finalShares(list, first.sweepCount));
  const isValid = field.lanes.map(({ strategy }) => strategy.signFree === true);
  const gatherers = settings.map(() => groupedSweeps(analysisFrom, analysisTo));
  const second = startSession(scenario, seed);
  for (let sweep = second.nextSweep(); sweep; sweep = second.nextSweep()) {
    for (const [lane, gatherer] of gatherers.entries()) {
      gatherer.add(sweep.recordedUv[channel], shares[lane][sweep.index]);
    }
    if (sweep.index % 500 === 499) yield 0.5 + (0.5 * sweep.index) / second.sweepCount;
  }
  const pointCount = analysisTo - analysisFrom;
  const points = evenPoints(pointCount, Math.min(POINTS, pointCount));
  return gatherers.map((gatherer, lane) => {
    const groups = gatherer.groups();
    if (groups.groupCount < FEWEST_GROUPS) {
      const none = { fmp: NaN, fmpP: NaN, splitCorrelation: NaN, splitP: NaN, hotellingP: NaN };
      return { ...settings[lane], isValid: isValid[lane], ...none };
    }
    const fRatio = fRatioOfGroups(pointCount, points);
    const correlation = splitCorrelationOfGroups(pointCount);
    if (!isValid[lane]) {
      const values = { fmp: fRatio(groups), splitCorrelation: correlation(groups) };
      return { ...settings[lane], isValid: false, ...values, fmpP: NaN, splitP: NaN, hotellingP: NaN };
    }
    const fmp = signFlipTest(groups, fRatio, FLIPS, seed);
    const split = signFlipTest(groups, correlation, FLIPS, seed);
    return {
      ...settings[lane],
      isValid: true,
      fmp: fmp.value,
      fmpP: fmp.p,
      splitCorrelation: split.value,
      splitP: split.p,
      hotellingP: hotellingTest(groups, points.length).p,
    };
  });
}
