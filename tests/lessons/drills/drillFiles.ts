import { readdirSync, readFileSync } from 'node:fs';
import type { LineHz } from '../../../src/lessons/atLine.ts';
import type { Drill } from '../../../src/lessons/drills/drillSchema.ts';
import { readDrillText } from '../../../src/lessons/drills/readDrill.ts';

const folder = new URL('../../../assets/drills/', import.meta.url);

export const drillIds = readdirSync(folder)
  .map((file) => file.replace(/\.yaml$/, ''))
  .sort();

/** A drill of the lab. */
export function drill(id: string, lineHz: LineHz = 50): Drill {
  return readDrillText(readFileSync(new URL(`${id}.yaml`, folder), 'utf8'), `drills/${id}.yaml`, lineHz);
}

/** Runs a generator to its end. */
export function finished<Result>(steps: Generator<unknown, Result>): Result {
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}
