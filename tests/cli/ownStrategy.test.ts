import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type OutsideStrategy, outsideStrategy } from '../../src/cli/outside/outsideStrategy.ts';
import { sandboxFlags } from '../../src/cli/outside/sandboxLine.ts';
import { contractContext } from '../../src/core/averaging/contractPatient.ts';
import { sweepwise } from './sweepwise.ts';

const quick = ['race', 'jaw-clencher', '--seconds', '2', '--replicates', '1'];
const page = readFileSync(new URL('../../src/core/averaging/OWN_STRATEGY.md', import.meta.url), 'utf8');
const example = /```ts\n(.*?)```/s.exec(page)?.[1] ?? '';

/** A plain mean in JavaScript, with pieces that can be exchanged. */
const plain = (id: string, { first = '', add = '', more = '' } = {}) => `
  ${first}
  export default {
    id: '${id}', label: 'Mine', summary: 'A mean.', timing: 'online', ${more}
    create({ samplesPerSweep }, _parameters, listener) {
      const sum = new Float64Array(samplesPerSweep);
      let n = 0;
      return {
        add(sweepUv, meta) {
          ${add}
          for (let i = 0; i < samplesPerSweep; i++) sum[i] += sweepUv[i];
          n++;
          listener({ index: meta.index, weight: 1, fade: 1, reason: 'taken', measureUv: 0, limitUv: 0 });
        },
        read(out) { for (let i = 0; i < samplesPerSweep; i++) out[i] = sum[i] / n; },
        readPair(a, b) { a.fill(NaN); b.fill(NaN); },
        ownNoiseUv: () => NaN, usedCount: () => n, effectiveCount: () => n,
      };
    },
    explain: () => 'Counted.',
  };`;

describe('a strategy of your own', () => {
  let folder: string;
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'sweepwise-own-'));
  });
  afterAll(() => rmSync(folder, { recursive: true }));
  const file = (name: string, text: string) => {
    const path = join(folder, name);
    writeFileSync(path, text);
    return path;
  };

  it('the example of the documentation is short and keeps the contract', () => {
    expect(example.split('\n').length).toBeLessThan(48);
    const { status, stdout } = sweepwise(['strategies', 'check', file('mine.ts', example)]);
    expect(stdout).toContain('quiet-ends keeps the contract');
    expect(status).toBe(0);
  });

  it('races beside the standard four, or as a lane with tunables, and explains itself', () => {
    const mine = file('mine.ts', example);
    const beside = JSON.parse(sweepwise([...quick, '--strategy', mine, '--json']).stdout);
    expect(beside.lanes.map(({ strategy }: { strategy: string }) => strategy).slice(3)).toEqual([
      'kalman',
      'quiet-ends',
    ]);
    expect(beside.lanes[4]).toMatchObject({ name: 'Quiet ends', sweepsUsed: beside.lanes[0].sweepsUsed });
    expect(beside.lanes[4].residualNoiseNv).toBeGreaterThan(0);
    const lane = ['--lane', 'quiet-ends floorUv2=4 as mine', '--explain', '7'];
    const { stdout } = sweepwise([...quick, '--strategy', mine, ...lane]);
    expect(stdout).toMatch(/^1\. +mine /m);
    expect(stdout).toMatch(/^mine +\d\.\d\d +Weighted by the \d+\.\d\d µV rms at its ends\.$/m);
  });

  it('gives what the same strategy gives inside: a plain mean', () => {
    const { lanes } = JSON.parse(
      sweepwise([
        ...quick,
        '--strategy',
        file('plain.js', plain('own-mean')),
        '--lane',
        'own-mean',
        '--lane',
        'plain-mean',
        '--json',
      ]).stdout,
    );
    // The lab sums its two buffers apart, so the last digits differ.
    expect(lanes[0].residualNoiseNv).toBeCloseTo(lanes[1].residualNoiseNv, 6);
  });

  /** What is said of a strategy that is loaded and given eight sweeps; empty if nothing is. */
  async function complaintOf(path: string): Promise<string> {
    let strategy: OutsideStrategy | null = null;
    try {
      strategy = await outsideStrategy(path);
      const averager = strategy.create(contractContext, {}, () => {});
      const sweepUv = new Float64Array(contractContext.samplesPerSweep);
      for (let index = 0; index < 8; index++) averager.add(sweepUv, { index, timeS: 0, polarity: 1, overRange: false });
      return '';
    } catch (error) {
      return (error as Error).message;
    } finally {
      strategy?.close();
    }
  }

  const walls: [string, string][] = [
    ['process', "typeof process !== 'undefined' && process.version"],
    ['require', "typeof globalThis.require !== 'undefined' && globalThis.require"],
    ['fetch', "typeof fetch !== 'undefined' && fetch"],
    ['timers', "typeof setTimeout !== 'undefined' && setTimeout"],
    ['console', "typeof console !== 'undefined' && console"],
    ['chance', 'Math.random'],
    ['clock', "typeof Date !== 'undefined' && Date"],
    ['WebAssembly', "typeof WebAssembly !== 'undefined' && WebAssembly"],
    ['eval', "(0, eval)('typeof process')"],
    ['Function', "new Function('return typeof process')()"],
    ['constructor of an object', "({}).constructor.constructor('return process')()"],
    ['constructor of the sweep', "sweepUv.constructor.constructor('return process')()"],
    ['constructor of the context', "meta.constructor.constructor('return process')()"],
    ['constructor of the listener', "listener.constructor('return process')()"],
    ['global of the frame', "globalThis.constructor && globalThis.constructor.constructor('return process')()"],
    ['truth in the meta', 'meta.truthUv || meta.noise || meta.truth'],
    ['what came before the import', 'leaked'],
    [
      'frames of the stack',
      `(() => {
        Error.prepareStackTrace = (_, frames) => frames.map((f) => [f.getThis(), f.getFunction()]).flat().filter(Boolean);
        const found = new Error().stack;
        Error.prepareStackTrace = undefined;
        return found.map((one) => { try { return one.constructor.constructor('return process')(); } catch { return null; } }).find(Boolean);
      })()`,
    ],
    [
      'error of a full stack',
      `(() => {
        const deep = () => deep();
        try { deep(); } catch (error) { return error.constructor.constructor('return process')(); }
      })()`,
    ],
  ];

  it('cannot get out: process, files, network, clock, chance and truth are not there', async () => {
    const first = `
      let leaked = null;
      const name = 'node:fs';
      import(name).then((fs) => { leaked = fs; }, (error) => {
        try { leaked = error.constructor.constructor('return process')(); } catch { leaked = null; }
      });`;
    const tries = walls.map(([what, code]) => `['${what}', () => ${code}]`).join(',\n');
    const add = `
      if (meta.index === 2) {
        const open = [${tries}].filter(([, attempt]) => { try { return attempt(); } catch { return false; } });
        throw new Error('open: ' + open.map(([what]) => what).join(', '));
      }`;
    const complaint = await complaintOf(file('escape.js', plain('escape', { first, add })));
    expect(complaint).toBe('strategy escape.js: add at sweep 2: Error: open: ');
  });

  it('even a process that got out could read no file, start no process and no thread', () => {
    const attempts = {
      file: `require('node:fs').readFileSync(${JSON.stringify(join(folder, 'mine.ts'))})`,
      write: `require('node:fs').writeFileSync(${JSON.stringify(join(folder, 'written'))}, 'x')`,
      process: "require('node:child_process').execSync('true')",
      thread: "new (require('node:worker_threads').Worker)('0', { eval: true })",
    };
    file('mine.ts', example);
    for (const [what, code] of Object.entries(attempts)) {
      const { status, stderr } = spawnSync(process.execPath, [...sandboxFlags(), '-e', code], { encoding: 'utf8' });
      expect(status, what).not.toBe(0);
      expect(stderr, what).toContain('ERR_ACCESS_DENIED');
    }
    const inherited = { ...process.env, SECRET: 'x' };
    expect(Object.keys(inherited)).toContain('SECRET'); // the sandbox is started with an empty environment instead
  });

  it('is stopped when a call does not end, with strategy, call and sweep', async () => {
    const stuck = file('stuck.js', plain('stuck', { add: 'if (meta.index === 3) for (;;);' }));
    expect(await complaintOf(stuck)).toBe('strategy stuck.js: add at sweep 3: took longer than 2000 ms');
  });

  it.each([
    [
      'throws',
      plain('bad', { add: "if (meta.index === 5) throw new RangeError('no more');" }),
      'strategy m.js: add at sweep 5: RangeError: no more',
    ],
    [
      'tells nonsense',
      plain('bad', { add: "listener({ index: 0, weight: 1, reason: 'liked' });" }),
      'add at sweep 0: TypeError: a verdict must have a reason, got liked',
    ],
    [
      'fills memory',
      plain('bad', { first: 'const all = [];', add: 'for (;;) all.push(new Array(1e6).fill(meta.index));' }),
      'add at sweep 0:',
    ],
    [
      'wants a module of Node',
      `import fs from 'node:fs';\n${plain('bad', { first: 'fs.readFileSync;' })}`,
      'm.js cannot be used: line 1: Could not resolve "node:fs"',
    ],
    ['is not a module', 'export default {', 'm.js cannot be used: line'],
    ['exports nothing', 'const x = 1;', 'the module must export a strategy as default'],
    ['has a bad id', plain('Bad Name'), 'id must be words of a-z and 0-9'],
    ['takes the id of another', plain('kalman'), "id must not be one of the lab's own"],
    [
      'has no timing',
      plain('bad', { more: "timing: 'later'," }),
      'timing must be online, delayed or hindsight, got "later"',
    ],
    [
      'has no create',
      "export default { id: 'bad', label: 'x', timing: 'online', explain() {} };",
      'must have a function create',
    ],
    [
      'has a loose tunable',
      plain('bad', { more: 'parameters: { properties: { p: {} } },' }),
      'parameters.p must have a default, a minimum and a maximum',
    ],
  ])('is refused in one line when it %s', async (_what, text, message) => {
    const complaint = await complaintOf(file('m.js', text));
    expect(complaint).toContain(message);
    expect(complaint).not.toContain('\n');
  });

  it('refuses a file that is not there, and names what a broken strategy breaks', () => {
    expect(sweepwise([...quick, '--strategy', './nowhere.ts']).stderr).toContain(
      './nowhere.ts cannot be read (ENOENT)',
    );
    const { status, stdout } = sweepwise(['strategies', 'check', file('plain.js', plain('own-mean'))]);
    expect(status).toBe(1);
    expect(stdout).toMatch(/^BROKEN +learns +buffer A gives NaN/m);
    expect(stdout).toMatch(/own-mean breaks \d of \d+ clauses/);
  });
});
