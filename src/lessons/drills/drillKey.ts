import { drillRemedy } from './drillRemedies.ts';
import { type DrillMeter, drillDocument, drillMeter, withSourceRight } from './drillRun.ts';
import type { Drill } from './drillSchema.ts';

/** A drill counts as mended when the error is at most so many times that of the session as it should be. Our choice. */
const MENDED_FACTOR = 1.5;
/** More remedies than this are not looked for. */
const MOST_REMEDIES = 3;

/** What is right in a drill, with the numbers that say so. Errors are over the hidden patients, nV rms. */
export interface DrillKey {
  /** The error of the session as it should be, and of the troubled one. */
  rightNv: number;
  troubledNv: number;
  /** At or below this the drill is mended. */
  goalNv: number;
  /** What is to blame: the one that leaves the least error when it alone is put right. */
  source: string;
  /** The error with each source on offer put right, in their order. */
  sources: { id: string; errorNv: number }[];
  /** The least that mends it: the fewest remedies, and of those the ones that cost least time. Null if nothing does. */
  least: { ids: string[]; costS: number; errorNv: number } | null;
}

/**
 * Works out what is right in a drill, by running it.
 *
 * The source is the one that leaves the least error when its keys alone are put right. The least remedies are found by
 * trying: all single ones, then all pairs, then all threes, each on the hidden patients, until some number mends it; of
 * those that do, the cheapest in time counts. A combination that fails by far on the first patient is not run on others.
 *
 * @param meter - shared with whatever else is measured of this drill
 * @returns a generator of how far it is, 0 … 1, roughly; then the key
 */
export function* drillKey(drill: Drill, meter: DrillMeter = drillMeter(drill)): Generator<number, DrillKey> {
  yield 0;
  const rightNv = meter.expectedNv(drillDocument(drill, false));
  yield 0.1;
  const troubledNv = meter.expectedNv(drillDocument(drill, true));
  yield 0.2;
  const sources: DrillKey['sources'] = [];
  for (const id of drill.sources) {
    sources.push({ id, errorNv: meter.expectedNv(withSourceRight(drill, id)) });
    yield 0.2;
  }
  const goalNv = MENDED_FACTOR * rightNv;
  const source = sources.reduce((best, entry) => (entry.errorNv < best.errorNv ? entry : best)).id;
  let least: DrillKey['least'] = null;
  for (let count = 1; count <= MOST_REMEDIES && least === null; count++) {
    const choices = combinations(drill.remedies, count).sort((a, b) => costOf(a) - costOf(b));
    for (const [k, ids] of choices.entries()) {
      const errorNv = errorAfter(drill, ids, goalNv, meter);
      yield Math.min(0.95, 0.25 + 0.3 * (count - 1) + (0.3 * k) / choices.length);
      if (errorNv > goalNv) continue;
      least = { ids, costS: costOf(ids), errorNv };
      break; // in order of cost
    }
  }
  return { rightNv, troubledNv, goalNv, source, sources, least };
}

/** The patient's time that remedies take together, s. */
export function costOf(remedies: readonly string[]): number {
  return remedies.reduce((sum, id) => sum + drillRemedy(id).costS, 0);
}

/** Error after remedies; only that of the first patient if it is more than twice the goal already. */
function errorAfter(drill: Drill, remedies: readonly string[], goalNv: number, meter: DrillMeter): number {
  const document = drillDocument(drill, true, remedies);
  const firstNv = meter.errorNv(document, 0);
  return firstNv > 2 * goalNv ? firstNv : meter.expectedNv(document);
}

function combinations(ids: readonly string[], count: number): string[][] {
  if (count === 0) return [[]];
  return ids.flatMap((id, k) => combinations(ids.slice(k + 1), count - 1).map((rest) => [id, ...rest]));
}
