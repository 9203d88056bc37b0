import type { TSchema } from '@sinclair/typebox';
import { checkedParameters } from '../core/averaging/checkedParameters.ts';
import { clausesOf, contractChecks } from '../core/averaging/contract.ts';
import { type ContractSubject, contractContext, contractPatient, offer } from '../core/averaging/contractPatient.ts';
import { finiteOnly } from '../core/averaging/finiteOnly.ts';
import { averagingStrategies } from '../core/averaging/index.ts';
import { parseArguments, UsageError } from './arguments.ts';
import { outsideStrategy } from './outside/outsideStrategy.ts';
import { textTable } from './table.ts';

const USAGE = `usage: sweepwise strategies          list the averaging strategies with their tunables
       sweepwise strategies ID       one of them
       sweepwise strategies --json   the list as JSON
       sweepwise strategies check FILE   try the contract on a strategy of your own (src/core/averaging/OWN_STRATEGY.md)

A lane of a race: sweepwise race --lane 'block-weighting blockLength=16 as short blocks'
`;

/** Lists the averaging strategies. */
export async function strategiesCommand(words: string[]): Promise<number> {
  const parsed = parseArguments(words, { json: 'flag', help: 'flag' });
  const [id, ...more] = parsed.positionals;
  if (parsed.flag('help')) {
    process.stdout.write(USAGE);
    return 0;
  }
  if (id === 'check') return checkStrategy(more);
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

const COST_SWEEPS = 500; // our choice: enough to warm up and to average

/** Tries every clause of the contract on an outside strategy. Returns 1 if one is broken. */
async function checkStrategy(files: readonly string[]): Promise<number> {
  if (files.length !== 1) throw new UsageError(`strategies: check takes one FILE, got ${files.join(' ') || 'none'}`);
  const strategy = await outsideStrategy(files[0]);
  try {
    // As in a race, where no sweep that is no voltage reaches it.
    const subject = { strategy: finiteOnly(strategy), parameters: checkedParameters(strategy, {}, strategy.id) };
    const rows = clausesOf(strategy).map(({ id, promise, breach }) => [id, breach(subject), promise] as const);
    const broken = rows.filter(([, seen]) => seen !== null);
    const lines = rows.map(([id, seen, promise]) => [seen === null ? 'kept' : 'BROKEN', id, seen ?? promise]);
    const verdict = broken.length === 0 ? 'keeps the contract' : `breaks ${broken.length} of ${rows.length} clauses`;
    process.stdout.write(`${strategy.id}: ${strategy.label}\n\n${textTable(lines, [0, 1, 2])}\n\n`);
    const rest = contractChecks.length - rows.length;
    if (rest > 0)
      process.stdout.write(`${rest} of ${contractChecks.length} clauses do not apply to what it declares.\n`);
    process.stdout.write(`${strategy.id} ${verdict}; a sweep of 64 samples costs ${costText(subject)}.\n`);
    return broken.length === 0 ? 0 : 1;
  } finally {
    strategy.close();
  }
}

/** What a sweep costs. */
function costText({ strategy, parameters }: ContractSubject): string {
  const sweeps = contractPatient(COST_SWEEPS, 'cost');
  const averager = strategy.create(contractContext, parameters, () => {});
  const started = performance.now();
  offer({ strategy, parameters }, averager, sweeps);
  averager.usedCount();
  return `${((1000 * (performance.now() - started)) / COST_SWEEPS).toFixed(0)} µs, the way into its sandbox and back included`;
}
