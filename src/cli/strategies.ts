import type { TSchema } from '@sinclair/typebox';
import { averagingStrategies } from '../core/averaging/index.ts';
import { parseArguments, UsageError } from './arguments.ts';
import { textTable } from './table.ts';

const USAGE = `usage: sweepwise strategies          list the averaging strategies with their tunables
       sweepwise strategies ID       one of them
       sweepwise strategies --json   the list as JSON

A lane of a race: sweepwise race --lane 'block-weighting blockLength=16 as short blocks'
`;

/** Lists the averaging strategies. */
export function strategiesCommand(words: string[]): number {
  const parsed = parseArguments(words, { json: 'flag', help: 'flag' });
  const [id, ...more] = parsed.positionals;
  if (parsed.flag('help')) {
    process.stdout.write(USAGE);
    return 0;
  }
  if (more.length > 0) throw new UsageError(`strategies: takes one ID, got ${parsed.positionals.join(' ')}`);
  const chosen = id === undefined ? averagingStrategies : averagingStrategies.filter((strategy) => strategy.id === id);
  if (chosen.length === 0) {
    const choices = averagingStrategies.map((strategy) => strategy.id).join(', ');
    throw new UsageError(`strategies: must be one of ${choices}, got "${id}"`);
  }
  const list = chosen.map(({ id: name, label, summary, timing, parameters }) => ({
    id: name,
    label,
    summary,
    timing,
    tunables: Object.entries(parameters.properties as Record<string, TSchema>).map(([key, schema]) => ({
      key,
      default: schema.default,
      minimum: schema.minimum,
      maximum: schema.maximum,
      unit: schema.unit ?? '',
      meaning: schema.description ?? '',
    })),
  }));
  if (parsed.flag('json')) process.stdout.write(`${JSON.stringify(list, null, 2)}\n`);
  else process.stdout.write(`${list.map(described).join('\n\n')}\n`);
  return 0;
}

const TIMINGS: Record<string, string> = {
  online: 'decides at once',
  delayed: 'decides a little later',
  hindsight: 'decides in hindsight, so it is run again at every moment at which it is judged',
};

function described(strategy: {
  id: string;
  label: string;
  summary: string;
  timing: string;
  tunables: { key: string; default: number; minimum: number; maximum: number; unit: string; meaning: string }[];
}): string {
  const { id, label, summary, timing, tunables } = strategy;
  const rows = tunables.map(({ key, default: usual, minimum, maximum, unit, meaning }) => [
    `  ${key}`,
    String(usual),
    `${minimum} … ${maximum}`,
    unit,
    meaning,
  ]);
  const lines = [`${id}: ${label}. ${summary}`, `  ${TIMINGS[timing]}`];
  return rows.length > 0 ? `${lines.join('\n')}\n${textTable(rows, [0, 4])}` : `${lines.join('\n')}\n  nothing to set`;
}
