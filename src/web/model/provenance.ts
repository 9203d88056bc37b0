import { version } from '../../../package.json';
import { scenarioHash } from '../../core/scenario/resolve.ts';
import type { Bench } from './bench.ts';

/** The standing line of everything that leaves the page. */
export const STANDING_LINE = 'Teaching simulation: model values, not normative, not for clinical decisions.';

/** Version of the lab. */
export const labVersion: string = version;

/** Says in one line which run this is: enough to make it again, unless a lesson keeps that out of sight. */
export function provenanceLine({ scenario, seed, record, keepsSecrets }: Bench): string {
  // A hash is enough to find out which of a few cases it is.
  const which = keepsSecrets ? 'settings out of sight' : `scenario ${scenarioHash(scenario)} · seed ${seed}`;
  const run = `${scenario.title || scenario.id} · ${which}`;
  return `Sweepwise ${labVersion} · ${run} · ${record.seconds.toFixed(1)} s, ${record.offeredCount} sweeps`;
}

/** A file name for something of this run: plain letters, no spaces. */
export function fileNameOf({ scenario, seed }: Bench, what: string, extension: string): string {
  const plain = [scenario.id, `seed-${seed}`, what].map((part) =>
    part.replace(/[^\p{L}\p{N}]+/gu, '-').replace(/^-|-$/g, ''),
  );
  return `${plain
    .filter((part) => part !== '')
    .join('_')
    .slice(0, 120)}.${extension}`;
}
