import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { outsideBundle } from '../../src/cli/outside/outsideBundle.ts';
import { type OutsideStrategy, outsideStrategy } from '../../src/cli/outside/outsideStrategy.ts';
import { sandboxFlags } from '../../src/cli/outside/sandboxLine.ts';
import { contractContext, contractPatient, outcomeOf } from '../../src/core/averaging/contractPatient.ts';
import { sweepwise } from './sweepwise.ts';

const quick = ['race', 'jaw-clencher', '--seconds', '2', '--replicates', '1'];
const page = readFileSync(new URL('../../src/core/averaging/OWN_STRATEGY.md', import.meta.url), 'utf8');
const example = /```ts\n(.*?)```/s.exec(page)?.[1] ?? '';

/** A plain mean in JavaScript, with pieces that can be exchanged. */
const plain = (id: string, { first = '', add = '', more = '', instead = '' } = {}) => `
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
        ${instead}
      };
    },
    explain: () => 'Counted.',
  };`;

const labFile = (name: string) => fileURLToPath(new URL(`../../src/core/${name}`, import.meta.url));

/** An averager's add that tells a verdict on a sweep of its choice. */
const verdictOn = (index: string, weight = '1') =>
  `add(_sweepUv, meta) {
     n++;
     listener({ index: ${index}, weight: ${weight}, fade: 1, reason: 'taken', measureUv: 0, limitUv: 0 });
   },`;

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
    expect(example.trimEnd().split('\n').length).toBeLessThanOrEqual(30);
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
    expect(beside.cautions.join()).not.toContain('breaks its contract');
    const lane = ['--lane', 'quiet-ends floorUv2=4 as mine', '--explain', '7'];
    const { stdout } = sweepwise([...quick, '--strategy', mine, ...lane]);
    expect(stdout).toMatch(/^1\. +mine /m);
    expect(stdout).toMatch(/^mine +\d\.\d\d +Weighted by the \d+\.\d\d µV rms at its end\.$/m);
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

  /** What is said of a strategy that is loaded and given sweeps, again by each averager; empty if nothing is. */
  async function complaintOf(
    path: string,
    averagers = 1,
    sweeps = 8,
    spent?: { atFirst: number; perCall: number },
  ): Promise<string> {
    let strategy: OutsideStrategy | null = null;
    try {
      strategy = await outsideStrategy(path, undefined, spent);
      const sweepUv = new Float64Array(contractContext.samplesPerSweep);
      for (let k = 0; k < averagers; k++) {
        const averager = strategy.create(contractContext, {}, () => {});
        for (let index = 0; index < sweeps; index++) {
          averager.add(sweepUv, { index, timeS: 0, polarity: 1, overRange: false });
        }
      }
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
      globalThis.Promise = (async () => {})().constructor; // taken away, but the language has it
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

  it.each([
    [
      'text from elsewhere',
      `import s from '${labFile('../../package.json')}';`,
      'may import code from its own folder only',
    ],
    ['text of its own folder', "import s from './secret.json';", 'from its own folder only, got "./secret.json"'],
    [
      'an absolute path',
      `import s from '${labFile('session/session.ts')}';`,
      'may import code from its own folder only',
    ],
    ['code through a link', "import s from './link.ts';", 'from its own folder only, got "./link.ts"'],
    ['a pattern', 'const s = (name) => require(`./$' + '{name}.json`);', 'from its own folder only, got "secret.json"'],
    ['a package', "import s from '@sinclair/typebox';", 'may import sweepwise and its own files'],
  ])('may not bring in %s', async (_what, first, message) => {
    file('secret.json', '{"secret":"x"}');
    if (!existsSync(join(folder, 'link.ts'))) symlinkSync(labFile('session/session.ts'), join(folder, 'link.ts'));
    const complaint = await complaintOf(file('thief.js', `${first}\n${plain('thief', { add: 's;' })}`));
    expect(complaint).toContain('thief.js cannot be used: line');
    expect(complaint).toContain(message);
  });

  it('may bring in code of its own folder, and leaves no import behind that the realm would have to answer', async () => {
    file('level.ts', 'export const level: number = 7;');
    const first = "import { level } from './level.ts';";
    const own = file(
      'own.ts',
      plain('own', { first, add: "if (meta.index === 2) throw new Error('level ' + level);" }),
    );
    expect(await complaintOf(own)).toBe('strategy own.ts: add at sweep 2: Error: level 7');
    const late = file('late.js', plain('late', { first: "const name = 'node:fs'; import(name).catch(() => {});" }));
    expect(await outsideBundle(late)).not.toMatch(/\bimport\(/);
  });

  it('knows nothing of another averager, not even through the module itself', async () => {
    const first = 'let seen = 0; globalThis.seen = 0; Array.seen = 0;';
    const add =
      "seen++; globalThis.seen++; Array.seen++; if (seen + globalThis.seen + Array.seen > 24) throw new Error('knows');";
    expect(await complaintOf(file('pool.js', plain('pool', { first, add })), 3)).toBe('');
  });

  it('cannot reach the realm outside through what it replaces', async () => {
    const first = `
      const failed = [];
      const catching = (object, name) => {
        object[name] = function (...all) { failed.push(name); throw new Error('reached'); };
      };
      const samples = Object.getPrototypeOf(Float64Array.prototype);
      for (const name of ['set', 'slice', 'fill', 'subarray']) catching(samples, name);
      for (const name of ['join', 'map', 'push', 'includes']) catching(Array.prototype, name);
      catching(String.prototype, 'split');
      catching(Map.prototype, 'get');
      JSON.parse = JSON.stringify = Reflect.apply = () => { throw new Error('reached by JSON'); };`;
    const pairless = 'readPair(a, b) { for (let i = 0; i < a.length; i++) a[i] = b[i] = 0; },';
    // The iterator goes later: the last lines of the bundle itself need it.
    const add = `
      if (meta.index === 0) catching(Array.prototype, Symbol.iterator);
      if (meta.index === 3 && (failed[0] || sweepUv[3] === 0)) throw new Error(String(failed[0] ?? 'no sweep'));`;
    const strategy = await outsideStrategy(file('proto.js', plain('proto', { first, add, instead: pairless })));
    try {
      const { estimateUv, usedCount, verdicts } = outcomeOf({ strategy, parameters: {} }, contractPatient(4, '7'));
      expect([usedCount, verdicts.length, estimateUv.every(Number.isFinite)]).toEqual([4, 4, true]);
      expect(strategy.explain(verdicts[0])).toBe('Counted.');
    } finally {
      strategy.close();
    }
  });

  it.each([
    ['an average of NaN', 'read(out) { out.fill(NaN); },', 'read at sweep 7: must give numbers once a sweep is used'],
    [
      'an infinite average',
      'read(out) { out.fill(1 / 0); },',
      'read at sweep 7: must give finite numbers, got Infinity',
    ],
    ['a count below 0', 'usedCount: () => -5,', 'usedCount at sweep 7: must be from 0 to the 8 sweeps offered, got -5'],
    ['a count above the sweeps', 'usedCount: () => 9,', 'usedCount at sweep 7: must be from 0 to the 8 sweeps offered'],
    ['half a sweep', 'usedCount: () => 1.5,', 'usedCount at sweep 7: must be a whole number, got 1.5'],
    ['an impossible claim', 'ownNoiseUv: () => 1e-9,', 'ownNoiseUv at sweep 7: must not be below'],
    ['a claim below 0', 'ownNoiseUv: () => -1,', 'ownNoiseUv at sweep 7: must be a finite number of µV'],
    ['a verdict on no sweep', verdictOn('1e9'), 'add at sweep 0: a verdict must be on a sweep that was offered'],
    ['a verdict without number', verdictOn('NaN'), 'add at sweep 0: a verdict must be on a sweep that was offered'],
    ['two verdicts', verdictOn('0'), 'add at sweep 1: a sweep must have one verdict, got a second one on sweep 0'],
    ['a weight of NaN', verdictOn('meta.index', 'NaN'), 'add at sweep 0: the weight of a verdict must be finite'],
  ])('is refused with strategy, call and sweep when it gives %s', async (_what, instead, message) => {
    const strategy = await outsideStrategy(file('wrong.js', plain('wrong', { instead })));
    try {
      const pairs = contractPatient(8, '7').map(({ sweepUv }) => ({ sweepUv }));
      expect(() => outcomeOf({ strategy, parameters: {} }, pairs)).toThrow(`strategy wrong.js: ${message}`);
    } finally {
      strategy.close();
    }
  });

  it.each([
    ['in one call', 'for (;;) held.push(new Float64Array(1e6).fill(1));'],
    [
      'little by little',
      'held.push(new Float64Array(6e6).fill(1)); if (meta.index > 6) for (;;) held.push(new Float64Array(2e5));',
    ],
  ])('is stopped when it fills memory with samples, %s', async (_how, add) => {
    const complaint = await complaintOf(file('buffers.js', plain('buffers', { first: 'const held = [];', add })));
    expect(complaint).toMatch(/^strategy buffers\.js: add at sweep \d: (RangeError|holds more|the strategy's process)/);
  });

  it('is stopped when it holds more than it may', async () => {
    const add = 'if (held.length < 40) held.push(new Float64Array(1e6).fill(1));'; // 320 MB, within what the kernel gives
    const held = await complaintOf(file('held.js', plain('held', { first: 'const held = [];', add })), 1, 80);
    expect(held).toMatch(/^strategy held\.js: add at sweep \d+: holds more than 256 MB$/);
  });

  it('breaks the contract when it is online and keeps its sweeps', () => {
    const hoard = plain('hoard', { first: 'const all = [];', add: 'all.push(Array.from(sweepUv));' });
    expect(sweepwise(['strategies', 'check', file('hoard.js', hoard)]).stdout).toMatch(
      /^BROKEN +bounded-memory +\d\.\d MB more after sweeps of 2\.0 MB/m,
    );
  });

  it('is stopped when its calls take too long in all', async () => {
    const slow = file('slow.js', plain('slow', { add: 'for (let i = 0; i < 1e7; i++) n += 1e-9 * (i & 1);' }));
    expect(await complaintOf(slow, 1, 2000, { atFirst: 500, perCall: 1 })).toMatch(
      /^strategy slow\.js: add at sweep \d+: took \d\.\d s of processor time in \d+ calls, more than the \d\.\d s/,
    );
  });

  it('the example runs where nothing lies before and after the window', async () => {
    const strategy = await outsideStrategy(file('mine.ts', example));
    try {
      const subject = { strategy, parameters: { floorUv2: 0.25 } };
      for (const ends of [{ analysisTo: 64 }, { analysisTo: 64, preSampleCount: 0 }]) {
        const { usedCount, estimateUv, verdicts } = outcomeOf(subject, contractPatient(12, '7'), ends);
        expect([usedCount, estimateUv.every(Number.isFinite)]).toEqual([12, true]);
        expect(verdicts.every(({ reason }) => reason === 'taken')).toBe(true);
      }
    } finally {
      strategy.close();
    }
  });

  it('has its error taken apart, although it is no weighted sum', () => {
    const bent = plain('soft-clip', { more: 'approximateShares: true,' }).replace(
      'sum[i] += sweepUv[i]',
      'sum[i] += Math.max(-1, Math.min(1, sweepUv[i]))',
    );
    const words = [...quick, '--strategy', file('bent.js', bent), '--ledger', '--json'];
    const { ledger } = JSON.parse(sweepwise(words).stdout);
    expect(ledger[4]).toMatchObject({ strategy: 'soft-clip', exact: false });
    expect(ledger[4].sumNv / ledger[4].totalNv).toBeCloseTo(1, 9);
    expect(ledger[4].rows.find(({ id }: { id: string }) => id === 'eeg').rmsNv).toBeGreaterThan(10);
  });

  it('can be taken along the axis of a breakdown', () => {
    const words = ['race', 'quiet-sleeper', '--seconds', '3', '--replicates', '1', '--breakdown', 'response-change'];
    const { breakdown } = JSON.parse(
      sweepwise([...words, '--strategy', file('mine.ts', example), '--lane', 'quiet-ends', '--json']).stdout,
    );
    expect(breakdown.lanes[0].strategy).toBe('quiet-ends');
    for (const { noiseNv } of breakdown.lanes[0].points) expect(noiseNv).toBeGreaterThan(0);
  });

  it('the example averages a real recording whose window reaches to the end of the sweep', () => {
    const run = fileURLToPath(new URL('../../../shared/data/auditory-oddball/run-1.csv.gz', import.meta.url));
    const cut = ['--events', 'Marker0=2', '--channel', 'TP9', '--window-ms', '-100,800', '--band-hz', '1,15'];
    const own = ['--strategy', file('mine.ts', example), '--lane', 'quiet-ends', '--json'];
    const [{ sweepsOffered, lanes }] = JSON.parse(
      sweepwise(['race', '--recording', run, ...cut, ...own]).stdout,
    ).channels;
    expect(lanes[0].sweepsUsed).toBe(sweepsOffered);
    expect(lanes[0].averageNv).toBeGreaterThan(0);
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
      'answers later',
      plain('bad', { instead: 'async add() {},' }),
      'strategy m.js: add at sweep 0: TypeError: add must answer at once, got a promise',
    ],
    [
      'throws later',
      plain('bad', { add: "if (meta.index === 5) (async () => { throw new RangeError('no more'); })();" }),
      'strategy m.js: add at sweep 5: a promise was rejected: RangeError: no more',
    ],
    [
      'makes promises',
      plain('bad', { add: 'if (meta.index === 2) Promise.resolve().then(() => {});' }),
      'strategy m.js: add at sweep 2: ReferenceError: Promise is not defined',
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
      'm.js cannot be used: line 1: may import sweepwise and its own files, got "node:fs"',
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

  it.each([
    ['read', 'read: async () => {},'],
    ['readPair', 'readPair: async () => {},'],
    ['usedCount', 'usedCount: () => ({ then() {} }),'],
  ])('is refused when %s answers later', async (call, instead) => {
    const strategy = await outsideStrategy(file('later.js', plain('later', { instead })));
    const { samplesPerSweep } = contractContext;
    const ask = () => outcomeOf({ strategy, parameters: {} }, [{ sweepUv: new Float64Array(samplesPerSweep).fill(1) }]);
    try {
      expect(ask).toThrow(
        `strategy later.js: ${call} at sweep 0: TypeError: ${call} must answer at once, got a promise`,
      );
    } finally {
      strategy.close();
    }
  });

  it('breaks its contract in a race: a caution names the clauses, and no verdict is not called waiting', () => {
    const noVerdict = example.replace('listener({ index', 'if (index !== 7) listener({ index');
    const silent = noVerdict.replace('...pair,', '...pair, read: (out) => void out.fill(0),');
    const words = [...quick, '--strategy', file('silent.ts', silent), '--lane', 'quiet-ends', '--explain', '7'];
    const { stdout } = sweepwise(words);
    expect(stdout).toMatch(/^quiet-ends breaks its contract, .*constant \(300 times a wave: .* one-verdict-each \(/m);
    expect(stdout).toMatch(/^Quiet ends +\d\.\d\d +It never told what it made of this sweep\.$/m);
    const { cautions } = JSON.parse(sweepwise([...words, '--json']).stdout);
    expect(cautions.at(-1)).toContain('weights-tell-all (read is');
  });

  it('that fails in a try of its contract races all the same', () => {
    const fragile = plain('fragile', { add: "if (meta.overRange) throw new Error('no flags');" });
    const { stdout, status } = sweepwise([...quick, '--strategy', file('fragile.js', fragile), '--lane', 'fragile']);
    expect(stdout).toMatch(
      /^fragile breaks its contract, .*add at sweep \d+: Error: no flags; no clause could be tried/m,
    );
    expect(status).toBe(0);
  });

  it('refuses a file that is not there, and names what a broken strategy breaks', () => {
    expect(sweepwise([...quick, '--strategy', './nowhere.ts']).stderr).toContain(
      './nowhere.ts cannot be read (ENOENT)',
    );
    const { status, stdout } = sweepwise(['strategies', 'check', file('plain.js', plain('own-mean'))]);
    expect(status).toBe(1);
    expect(stdout).toMatch(/^BROKEN +learns +buffer A gives NaN/m);
    expect(stdout).toMatch(/^kept +bounded-memory/m);
    expect(stdout).toMatch(/own-mean breaks \d of \d+ clauses/);
  });
});
