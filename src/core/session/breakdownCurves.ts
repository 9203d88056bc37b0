import type { AveragingStrategy } from '../averaging/strategy.ts';
import { log } from '../elementary.ts';
import { type Breakdown, type BreakdownPoint, breakdownLevel } from '../quality/breakdown.ts';
import { resolveScenario, withOverrides } from '../scenario/resolve.ts';
import type { Scenario } from '../scenario/schema.ts';
import type { LaneSetting } from './lanes.ts';
import { race } from './race.ts';
import { startSession } from './session.ts';

/** One way to make things worse for an average, step by step. */
export interface BreakdownAxis {
  /** Stored in studies: never renamed. */
  id: string;
  label: string;
  unit: string;
  /** Rising; the first is the reference. */
  levels: readonly number[];
  /** What is set in a scenario to bring a level about, as `path=value`. */
  assignments(level: number, scenario: Scenario): string[];
}

const BURST_S = 0.8; // s: length of a burst where the axis is not the length, model value
const COVERED = 0.2; // share of sweeps with a burst where the axis is its length, our choice
const BLOCK_SWEEPS = 32; // the default block of the Bayesian average

/** Bursts a second so that a share of the sweeps meets one: P = 1 − e^(−rate·(burst + sweep)), Poisson onsets. */
function burstsPerS(share: number, burstS: number, { window }: Scenario): number {
  return -log(1 - share) / (burstS + (window.preMs + window.postMs) / 1000);
}

const steadyBursts = ['muscle.durationLogSd=0', 'muscle.burstLogSd=0', 'amplifier.rangeUv=2000'];

/** Six ways to make things worse. Levels are our choice. */
export const breakdownAxes: readonly BreakdownAxis[] = [
  {
    id: 'contaminated-share',
    label: 'share of sweeps with a burst',
    unit: '',
    levels: [0, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7],
    assignments: (level, scenario) => [
      ...steadyBursts,
      `muscle.durationS=${BURST_S}`,
      `muscle.burstsPerS=${burstsPerS(level, BURST_S, scenario)}`,
    ],
  },
  {
    id: 'burst-size',
    label: 'size of the bursts',
    unit: 'µV rms',
    levels: [0, 2, 5, 10, 20, 50, 100, 200],
    assignments: (level, scenario) => [
      ...steadyBursts,
      `muscle.durationS=${BURST_S}`,
      `muscle.burstsPerS=${burstsPerS(COVERED, BURST_S, scenario)}`,
      `muscle.burstUv=${level}`,
    ],
  },
  {
    id: 'burst-length',
    label: `length of the bursts, in blocks of ${BLOCK_SWEEPS} sweeps`,
    unit: 'blocks',
    levels: [0.05, 0.1, 0.25, 0.5, 1, 2, 4, 8],
    assignments(level, scenario) {
      const burstS = (level * BLOCK_SWEEPS) / scenario.stimulus.ratePerS;
      return [
        ...steadyBursts,
        `muscle.durationS=${burstS}`,
        `muscle.burstsPerS=${burstsPerS(COVERED, burstS, scenario)}`,
      ];
    },
  },
  {
    id: 'mains-nearness',
    label: 'nearness of the rate to a whole fraction of the supply, 1 − 2d',
    unit: '',
    levels: [0, 0.2, 0.4, 0.6, 0.8, 0.9, 0.95, 0.98, 0.99, 0.995, 1],
    // Turns of the hum from sweep to sweep: 2 − d, d from ½ (as far as can be) to 0 (locked).
    assignments: (level, { mains }) => [
      `stimulus.ratePerS=${mains.lineHz / (2 - (1 - level) / 2)}`,
      'mains.fundamentalUv=4',
      'mains.harmonicRatios=[1]',
      'mains.wanderHz=0',
    ],
  },
  {
    id: 'clipped-share',
    label: 'share of sweeps that overload the converter, flags ignored',
    unit: '',
    levels: [0, 0.02, 0.05, 0.1, 0.2, 0.4, 0.6],
    assignments: (level, scenario) => [
      'averaging.respectFlags=false',
      'converter.guardMs=0',
      'amplifier.recoveryMs=1',
      `amplifier.rangeUv=${level === 0 ? 10000 : clippingRangeUv(level, scenario)}`,
    ],
  },
  {
    id: 'response-change',
    label: 'speed at which the response moves',
    unit: 'ms/min',
    levels: [0, 0.05, 0.1, 0.2, 0.4, 0.8, 1.2],
    assignments: (level, { session }) => [
      'measures.truth=current',
      'response.trajectory.startS=0',
      `response.trajectory.endS=${session.durationS}`,
      `response.trajectory.latencyShiftMs=${(level * session.durationS) / 60}`,
    ],
  },
];

/** Finds an axis by its id. @throws {RangeError} naming the choices */
export function breakdownAxis(id: string): BreakdownAxis {
  const found = breakdownAxes.find((axis) => axis.id === id);
  if (found) return found;
  throw new RangeError(`unknown breakdown axis "${id}"; one of ${breakdownAxes.map((axis) => axis.id).join(', ')}`);
}

/** The range at which a share of the sweeps overloads, by bisection on half a minute of a pilot patient. */
function clippingRangeUv(share: number, scenario: Scenario): number {
  let low = 1; // everything overloads
  let high = 10000;
  for (let k = 0; k < 14; k++) {
    const middle = Math.sqrt(low * high);
    if (overloadedShare(scenario, middle) > share) low = middle;
    else high = middle;
  }
  return Number(high.toPrecision(4));
}

function overloadedShare(scenario: Scenario, rangeUv: number): number {
  const { amplifier, converter, session, averaging } = scenario;
  const run = startSession(
    {
      ...scenario,
      amplifier: { ...amplifier, rangeUv, recoveryMs: 1 },
      converter: { ...converter, guardMs: 0 },
      session: { ...session, durationS: Math.min(30, session.durationS) },
    },
    'pilot',
  );
  const channel = averaging.channel === 'ipsilateral' ? 0 : 1;
  let count = 0;
  let overloaded = 0;
  for (let sweep = run.nextSweep(); sweep; sweep = run.nextSweep()) {
    count++;
    if (sweep.overRange[channel]) overloaded++;
  }
  return overloaded / count;
}

/** The breakdown curve of one lane. */
export interface BreakdownCurve extends LaneSetting {
  points: BreakdownPoint[];
  breakdown: Breakdown;
}

/** What to run. */
export interface BreakdownOrder {
  seed: string;
  replicates: number;
  lanes?: LaneSetting[];
  /** Strategies that are not the lab's own, for lanes that name them. */
  outside?: readonly AveragingStrategy[];
  /** By default those of the axis. */
  levels?: readonly number[];
}

/**
 * Runs strategies through rising levels of what breaks them: expected noise and gain at each, and ε*.
 *
 * Every level is a race of its own on the same patients. A generator of progress 0 … 1, like `race`. Fewer than 3
 * replicates do not tell a change from chance: then ε* cannot be told.
 *
 * @param document - the patient, without what the axis sets   @throws {ScenarioError} if a level cannot be set on it
 */
export function* breakdownCurves(
  document: object,
  axis: BreakdownAxis,
  { seed, replicates, lanes, outside, levels = axis.levels }: BreakdownOrder,
): Generator<number, BreakdownCurve[]> {
  const base = resolveScenario(document);
  const curves: BreakdownCurve[] = [];
  for (const [j, level] of levels.entries()) {
    const scenario = resolveScenario(withOverrides(document, axis.assignments(level, base)));
    const steps = race(scenario, { seed, replicates, targetNv: scenario.session.targetNv, lanes, outside });
    let step = steps.next();
    for (; !step.done; step = steps.next()) yield (j + step.value.fraction) / levels.length;
    for (const [k, lane] of step.value.lanes.entries()) {
      const { strategy, parameters, name, expectedResidualNoiseNv, amplitudeGain } = lane;
      const setting = { strategy, parameters, ...(name === undefined ? {} : { name }) };
      if (j === 0) curves.push({ ...setting, points: [], breakdown: { level: Infinity, cause: 'none' } });
      const { value: gain, low, high } = amplitudeGain;
      const interval = Number.isNaN(low) ? {} : { gainLow: low, gainHigh: high }; // fewer than 3 replicates have none
      curves[k].points.push({ level, noise: expectedResidualNoiseNv.value, gain, ...interval });
    }
  }
  return curves.map((curve) => ({
    ...curve,
    breakdown: replicates < 3 ? { level: NaN, cause: 'cannot-tell' } : breakdownLevel(curve.points),
  }));
}
