import { log } from '../../core/elementary.ts';
import { shortNumber } from '../figureParts.ts';
import { costOf, type DrillKey, drillKey } from './drillKey.ts';
import { type DrillState, spentS } from './drillLog.ts';
import { drillRemedy } from './drillRemedies.ts';
import { drillDocument, drillMeter, HIDDEN_PATIENTS } from './drillRun.ts';
import { DRILL_LIMIT_S, type Drill } from './drillSchema.ts';
import { drillSource } from './drillSources.ts';

/** Points of each line of a drill; they add up to 100. Our choice. */
const DRILL_POINTS = { source: 40, mended: 30, least: 20, time: 10 } as const;
const FULL_TIME_S = 120; // until then all points for time; in proportion to none at the limit. Our choice

interface DrillLine {
  id: keyof typeof DRILL_POINTS;
  text: string;
  points: number;
  outOf: number;
  /** What the learner did, what the model found, and the rule that made points of the two. */
  answer: string;
  finding: string;
  rule: string;
}

/** The mark of a drill, line by line, with the numbers behind it. */
export interface DrillMark {
  points: number;
  lines: DrillLine[];
  key: DrillKey;
  /** The error with the learner's remedies, nV rms over the hidden patients. */
  errorNv: number;
  mended: boolean;
  spentS: number;
}

/**
 * Marks a drill on its hidden patients.
 *
 *     source   all for the first guess, half for the second
 *     mended   all if the error is at the goal; else in proportion to the share of log(troubled/goal) that is gone
 *     least    least number / number of remedies taken, if mended
 *     time     all until two minutes, none at five, if mended
 *
 * @returns a generator of progress, then the mark
 */
export function* markDrill(drill: Drill, state: DrillState): Generator<number, DrillMark> {
  const meter = drillMeter(drill);
  const key = yield* drillKey(drill, meter);
  const errorNv = meter.expectedNv(drillDocument(drill, true, state.remedies));
  const { rightNv, troubledNv, goalNv, least } = key;
  const mended = errorNv <= goalNv;
  const spent = Math.round(spentS(state, 0));

  const nv = (value: number) => `${shortNumber(value)} nV`;
  const named = (ids: readonly string[]) => ids.map((id) => drillRemedy(id).label).join(', ') || 'nothing';
  const place = state.guesses.indexOf(key.source);
  const right = drillSource(key.source);
  const rightedNv = key.sources.find(({ id }) => id === key.source)?.errorNv ?? NaN;
  const gone = Math.max(0, Math.min(1, log(troubledNv / errorNv) / log(troubledNv / goalNv)));
  const shares: Record<DrillLine['id'], number> = {
    source: place === 0 ? 1 : place === 1 ? 0.5 : 0,
    mended: mended ? 1 : gone,
    least: mended && least !== null ? Math.min(1, least.ids.length / Math.max(1, state.taken.length)) : 0,
    time: mended ? Math.max(0, Math.min(1, (DRILL_LIMIT_S - spent) / (DRILL_LIMIT_S - FULL_TIME_S))) : 0,
  };
  const words: Record<DrillLine['id'], Pick<DrillLine, 'text' | 'answer' | 'finding' | 'rule'>> = {
    source: {
      text: 'The source is named',
      answer: state.guesses.map((id) => drillSource(id).label).join('; then: ') || 'nothing',
      finding: `${right.label}: with that alone put right, the error falls from ${nv(troubledNv)} to ${nv(rightedNv)}`,
      rule: 'all for the first guess, half for the second',
    },
    mended: {
      text: 'The trouble is mended',
      answer: named(state.remedies),
      finding: `error ${nv(errorNv)}; ${nv(troubledNv)} with the trouble, ${nv(rightNv)} without it`,
      rule: `all at ${nv(goalNv)} or less, over ${HIDDEN_PATIENTS} hidden patients; else by how far it came, on a log scale`,
    },
    least: {
      text: 'No more was done than needed',
      answer: `${state.taken.length} taken, ${costOf(state.taken)} s of the patient's time`,
      finding:
        least === null
          ? 'nothing on offer mends it'
          : `${named(least.ids)}: ${least.ids.length}, ${least.costS} s, error ${nv(least.errorNv)}`,
      rule: 'least number / number taken, if it is mended',
    },
    time: {
      text: 'In good time',
      answer: `${spent} s, what the remedies took included`,
      finding: `${DRILL_LIMIT_S} s are the limit`,
      rule: `all until ${FULL_TIME_S} s, none at ${DRILL_LIMIT_S} s, if it is mended`,
    },
  };
  const ids = Object.keys(DRILL_POINTS) as DrillLine['id'][];
  const lines = ids.map((id) => {
    const outOf = DRILL_POINTS[id];
    return { id, ...words[id], outOf, points: Math.round(10 * outOf * shares[id]) / 10 };
  });
  const points = Math.round(lines.reduce((sum, line) => sum + line.points, 0));
  return { points, lines, key, errorNv, mended, spentS: spent };
}
