import { exp, log } from '../core/elementary.ts';
import { stream } from '../core/random/stream.ts';
import { latinHypercube } from './latinHypercube.ts';
import { scenarioKey } from './scenarioKey.ts';
import type { Distribution, Scalar } from './schema.ts';
import { normalQuantile } from './statistics/normal.ts';
import { StudyError } from './studyError.ts';

/** How many patients are spread evenly over the distributions at a time. Our choice: divides the usual replicates. */
const GROUP = 8;

/**
 * Draws the keys in which one patient differs from the others.
 *
 * Patients come in groups of 8; each group is a Latin hypercube, so that few replicates already cover the range, and
 * any number of replicates can be added later without changing those before.
 *
 * @param seed - of the study and the scenario   @param replicate - number of the patient, from 0
 */
export function drawPatient(
  distributions: Record<string, Distribution>,
  seed: string,
  replicate: number,
): Record<string, Scalar> {
  const entries = Object.entries(distributions);
  const points = latinHypercube(
    stream(seed, 'study/patients', Math.floor(replicate / GROUP)),
    GROUP,
    Math.max(1, entries.length),
  );
  const point = points[replicate % GROUP];
  return Object.fromEntries(
    entries.map(([path, distribution], axis) => [path, valueAt(path, distribution, point[axis])]),
  );
}

function valueAt(path: string, distribution: Distribution, u: number): Scalar {
  if ('oneOf' in distribution) return distribution.oneOf[Math.floor(u * distribution.oneOf.length)];
  const value = numberAt(distribution, u);
  const schema = scenarioKey(path);
  const within = Math.min(schema?.maximum ?? Infinity, Math.max(schema?.minimum ?? -Infinity, value));
  // Six digits: what the tables show is exactly what was run.
  return schema?.type === 'integer' ? Math.round(within) : Number(within.toPrecision(6));
}

function numberAt(distribution: Exclude<Distribution, { oneOf: unknown }>, u: number): number {
  if ('uniform' in distribution)
    return distribution.uniform[0] + u * (distribution.uniform[1] - distribution.uniform[0]);
  if ('logUniform' in distribution) {
    const [low, high] = distribution.logUniform;
    return low * exp(u * log(high / low));
  }
  if ('normal' in distribution) return distribution.normal[0] + normalQuantile(u) * distribution.normal[1];
  return distribution.logNormal[0] * exp(normalQuantile(u) * distribution.logNormal[1]);
}

/** Refuses distributions that cannot be drawn from. @throws {StudyError} naming key, rule and value */
export function checkDistribution(path: string, distribution: Distribution, place: string): void {
  const schema = scenarioKey(path);
  if (!schema || schema.properties) throw new StudyError(`${place}: must be a key of the scenario, got ${path}`);
  if ('oneOf' in distribution) return; // each value is checked as a scenario of its own
  if (schema.type !== 'number' && schema.type !== 'integer') {
    throw new StudyError(`${place}: only oneOf fits a key that is no number, got ${path}`);
  }
  const [kind, [first, second]] = Object.entries(distribution)[0] as [string, [number, number]];
  if (kind.startsWith('log') && !(first > 0)) throw new StudyError(`${place}.${kind}: must be > 0, got ${first}`);
  if (kind.toLowerCase().endsWith('uniform')) {
    if (!(first < second))
      throw new StudyError(`${place}.${kind}: must be two rising numbers, got ${first}, ${second}`);
    if (!(first >= schema.minimum && second <= schema.maximum)) {
      const rule = `must lie within ${schema.minimum} to ${schema.maximum}`;
      throw new StudyError(`${place}.${kind}: ${rule}, got ${first}, ${second}`);
    }
  } else if (!(second >= 0)) {
    throw new StudyError(`${place}.${kind}: the standard deviation must be >= 0, got ${second}`);
  }
}
