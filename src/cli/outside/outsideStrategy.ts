import { existsSync } from 'node:fs';
import { basename, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { TObject } from '@sinclair/typebox';
import { averagingStrategies } from '../../core/averaging/index.ts';
import type {
  Averager,
  AveragingStrategy,
  SweepVerdict,
  VerdictListener,
  WeightReason,
} from '../../core/averaging/strategy.ts';
import { UsageError } from '../arguments.ts';
import { type SandboxLine, sandboxLine } from './sandboxLine.ts';

const LOAD_LIMIT_MS = 30000; // our choice: a process has to start
const CALL_LIMIT_MS = 2000; // our choice: a thousand times what a call of the lab's own strategies takes

/**
 * Loads somebody else's strategy from a TypeScript or JavaScript module.
 *
 * It runs in a sandbox and is called through a line on which one waits, so it can race like the lab's own. It sees the
 * sweeps and what is told along with them; no truth, no files, no network, no clock.
 *
 * @throws {UsageError} naming the file or the strategy, the call, and the sweep where there is one
 */
export async function outsideStrategy(file: string, limitMs = CALL_LIMIT_MS): Promise<OutsideStrategy> {
  if (!existsSync(file)) throw new UsageError(`--strategy: ${file} cannot be read (ENOENT)`);
  const code = await bundled(file);
  const line = sandboxLine(basename(file));
  line.ask('loading', { call: 'load', code, name: basename(file) }, LOAD_LIMIT_MS);
  const description = JSON.parse(line.ask('loading', { call: 'describe' }, LOAD_LIMIT_MS).answer);
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

/** Makes one script of the module and what it imports; types are dropped. */
async function bundled(file: string): Promise<string> {
  const { build } = await import('esbuild');
  try {
    const { outputFiles } = await build({
      entryPoints: [resolve(file)],
      bundle: true,
      write: false,
      format: 'iife',
      globalName: 'outside',
      platform: 'neutral',
      target: 'es2022',
      charset: 'utf8',
      logLevel: 'silent',
      mainFields: ['module', 'main'],
      alias: { sweepwise: fileURLToPath(new URL('../../core/averaging/outside.ts', import.meta.url)) },
    });
    return outputFiles[0].text;
  } catch (error) {
    const [first] = (error as { errors?: { text: string; location?: { line: number } }[] }).errors ?? [];
    const place = first?.location ? `line ${first.location.line}: ` : '';
    throw new UsageError(`--strategy: ${file} cannot be used: ${place}${first?.text ?? (error as Error).message}`);
  }
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
    if (!fits) return refuse(`parameters.${key} must have a default, a minimum and a maximum`, schema);
  }
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
            Number(line.ask('longestWait', { call: 'longestWait', one: JSON.stringify(setting) }, limitMs).answer),
        }
      : {}),
    create(context, setting, listener) {
      const key = nextKey++;
      const texts = { one: JSON.stringify(context), two: JSON.stringify(setting) };
      const { answer } = line.ask('create', { call: 'create', key, ...texts }, limitMs);
      const averager = averagerOf(line, key, context.samplesPerSweep, listener, limitMs, answer === 'true');
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

function averagerOf(
  line: SandboxLine,
  key: number,
  length: number,
  listener: VerdictListener,
  limitMs: number,
  settles: boolean,
): Averager {
  let sweep = 'before the first sweep';

  function ask(call: string, more: object = {}) {
    const answer = line.ask(`${call} ${sweep}`, { call, key, ...more }, limitMs);
    for (const verdict of answer.verdicts) listener(verdictOf(verdict));
    return answer;
  }

  const averager: Averager = {
    add(sweepUv, { interval, ...meta }) {
      sweep = `at sweep ${meta.index}`;
      const one = JSON.stringify(meta);
      const heard = interval ? { two: String(interval.firstSample), intervalUv: interval.samplesUv } : {};
      ask('add', { one, sweepUv, ...heard });
    },
    read: (outUv) => outUv.set(ask('read', { wants: 1, length }).outputs[0]),
    readPair(outAUv, outBUv) {
      const [a, b] = ask('readPair', { wants: 2, length }).outputs;
      outAUv.set(a);
      outBUv.set(b);
    },
    ownNoiseUv: () => Number(ask('ownNoiseUv').answer),
    usedCount: () => Number(ask('usedCount').answer),
    effectiveCount: () => Number(ask('effectiveCount').answer),
  };
  if (settles) averager.settle = () => void ask('settle');
  return averager;
}

function verdictOf(text: string): SweepVerdict {
  const [index, weight, fade, reason, measureUv, limitUv] = text.split(',');
  return {
    index: Number(index),
    weight: Number(weight),
    fade: Number(fade),
    reason: reason as WeightReason,
    measureUv: Number(measureUv),
    limitUv: Number(limitUv),
  };
}

function textOf({ index, weight, fade, reason, measureUv, limitUv }: Readonly<SweepVerdict>): string {
  return [index, weight, fade, reason, measureUv, limitUv].join(',');
}
