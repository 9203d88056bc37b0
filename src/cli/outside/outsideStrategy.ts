import { existsSync } from 'node:fs';
import { basename } from 'node:path';
import type { TObject } from '@sinclair/typebox';
import { averagingStrategies } from '../../core/averaging/index.ts';
import type { AveragingStrategy, SweepVerdict } from '../../core/averaging/strategy.ts';
import { UsageError } from '../arguments.ts';
import { outsideAverager } from './outsideAverager.ts';
import { outsideBundle } from './outsideBundle.ts';
import { type SandboxLine, sandboxLine } from './sandboxLine.ts';

export { outsideSources } from './outsideBundle.ts'; // a study asks its loader for them

const LOAD_LIMIT_MS = 30000; // our choice: a process has to start
const CALL_LIMIT_MS = 2000; // our choice: a thousand times what a call of the lab's own strategies takes

/**
 * Loads somebody else's strategy from a TypeScript or JavaScript module.
 *
 * It runs in a sandbox and is called through a line on which one waits, so it can race like the lab's own. It sees the
 * sweeps and what is told along with them; no truth, no files, no network, no clock. Each averager is in a realm of its
 * own and knows nothing of the others.
 *
 * @throws {UsageError} naming the file or the strategy, the call, and the sweep where there is one
 */
export async function outsideStrategy(
  file: string,
  limitMs = CALL_LIMIT_MS,
  spent?: { atFirst: number; perCall: number },
): Promise<OutsideStrategy> {
  if (!existsSync(file)) throw new UsageError(`--strategy: ${file} cannot be read (ENOENT)`);
  const code = await outsideBundle(file);
  const line = sandboxLine(basename(file), spent);
  line.ask('loading', { call: 'load', code, name: basename(file) }, LOAD_LIMIT_MS);
  const { answer } = line.ask('loading', { call: 'describe' }, LOAD_LIMIT_MS);
  let description: Description;
  try {
    description = JSON.parse(answer);
  } catch {
    return line.fail('loading', 'its description cannot be read');
  }
  return checked(description, file, line, limitMs);
}

/** Loads several. @throws {UsageError} as `outsideStrategy`, or if two have the same id */
export async function outsideStrategies(files: readonly string[], limitMs?: number): Promise<OutsideStrategy[]> {
  const loaded: OutsideStrategy[] = [];
  try {
    for (const file of files) {
      const strategy = await outsideStrategy(file, limitMs);
      const twin = loaded.some(({ id }) => id === strategy.id);
      loaded.push(strategy);
      if (twin) throw new UsageError(`--strategy: ${file}: id must not be that of another one, got "${strategy.id}"`);
    }
  } catch (error) {
    for (const strategy of loaded) strategy.close();
    throw error;
  }
  return loaded;
}

/** A strategy behind a sandbox, which has to be closed. */
export interface OutsideStrategy extends AveragingStrategy<Record<string, number>> {
  close(): void;
}

interface Description {
  id: unknown;
  label: unknown;
  summary: unknown;
  timing: unknown;
  parameters?: { properties?: Record<string, Record<string, unknown>> };
  flags: Record<string, unknown>;
  waits: boolean;
}

function checked(description: Description, file: string, line: SandboxLine, limitMs: number): OutsideStrategy {
  const refuse = (rule: string, value: unknown): never => {
    line.close();
    throw new UsageError(`--strategy: ${file}: ${rule}, got ${JSON.stringify(value) ?? 'nothing'}`);
  };
  const { id, label, summary, timing, parameters = { properties: {} }, flags, waits } = description;
  if (typeof id !== 'string' || !/^[a-z][a-z0-9]*(-[a-z0-9]+)*$/.test(id)) {
    return refuse('id must be words of a-z and 0-9 with - between them', id);
  }
  if (averagingStrategies.some((own) => own.id === id)) return refuse("id must not be one of the lab's own", id);
  if (typeof label !== 'string' || label.trim() === '') return refuse('label must be a text', label);
  if (timing !== 'online' && timing !== 'delayed' && timing !== 'hindsight') {
    return refuse('timing must be online, delayed or hindsight', timing);
  }
  for (const [key, schema] of Object.entries(parameters.properties ?? {})) {
    const { default: usual, minimum, maximum } = schema;
    const fits = [usual, minimum, maximum].every((value) => typeof value === 'number');
    const inside = (usual as number) >= (minimum as number) && (usual as number) <= (maximum as number);
    if (fits && !inside) return refuse(`parameters.${key} must have its default between its bounds`, usual);
    if (!fits) return refuse(`parameters.${key} must have a default, a minimum and a maximum`, schema);
  }
  const wait = (count: number): number => {
    if (Number.isInteger(count) && count >= 0) return count;
    return line.fail('longestWait', `must be a whole number of sweeps, got ${count}`);
  };
  const own = Object.fromEntries(Object.entries(flags).filter(([, value]) => value === true));
  return {
    id,
    scenarioKey: id,
    label,
    summary: typeof summary === 'string' ? summary : '',
    parameters: { type: 'object', properties: parameters.properties ?? {} } as unknown as TObject,
    timing,
    ...own,
    ...(waits
      ? {
          longestWait: (setting: Record<string, number>) =>
            wait(
              Number(line.ask('longestWait', { call: 'longestWait', one: JSON.stringify(setting) }, limitMs).answer),
            ),
        }
      : {}),
    create(context, setting, listener) {
      const key = nextKey++;
      const texts = { one: JSON.stringify(context), two: JSON.stringify(setting) };
      const { answer } = line.ask('create', { call: 'create', key, ...texts }, limitMs);
      const averager = outsideAverager({ line, key, context, listener, limitMs, settles: answer === 'true' });
      forgotten.register(averager, { line, key });
      return averager;
    },
    explain: (verdict) => line.ask('explain', { call: 'explain', one: textOf(verdict) }, limitMs).answer,
    close: line.close,
  };
}

let nextKey = 1;
const forgotten = new FinalizationRegistry<{ line: SandboxLine; key: number }>(({ line, key }) => {
  line.tell({ call: 'forget', key });
});

function textOf({ index, weight, fade, reason, measureUv, limitUv }: Readonly<SweepVerdict>): string {
  // Numbers as texts, since JSON has no NaN.
  const [i, w, f, m, l] = [index, weight, fade, measureUv, limitUv].map(String);
  return JSON.stringify({ index: i, weight: w, fade: f, reason, measureUv: m, limitUv: l });
}
