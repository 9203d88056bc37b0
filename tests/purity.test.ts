import { spawnSync } from 'node:child_process';
import { copyFileSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseSync } from 'vite';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

const checkout = fileURLToPath(new URL('..', import.meta.url));

// Exactly rounded or exact by the ECMAScript standard, so every engine agrees to the last bit.
const exactMath = new Set(
  'abs ceil clz32 floor fround imul max min round sign sqrt trunc E LN10 LN2 LOG10E LOG2E PI SQRT1_2 SQRT2'.split(' '),
);

// Part of the language, yet a clock, a way around these rules, or the reader's own tongue. Whatever is not part of the
// language (page, process, timers, network) is refused by compiling src/core with the language's own types alone.
const impureNames = new Set(['Date', 'Intl', 'globalThis', 'eval', 'Function']);

type Node = Record<string, unknown> & { type: string; start: number };

/** Lists what makes a core module impure, as `line: what`. Comments and texts do not count; names in the code do. */
function impurities(text: string): string[] {
  const { program, errors } = parseSync('module.ts', text);
  if (errors.length > 0) throw new SyntaxError(`impurities: the module must parse, got ${errors[0].message}`);
  const found: string[] = [];
  const report = (node: Node, what: string) => found.push(`${text.slice(0, node.start).split('\n').length}: ${what}`);

  const visit = (value: unknown): void => {
    if (Array.isArray(value)) {
      for (const item of value) visit(item);
      return;
    }
    if (typeof value !== 'object' || value === null) return;
    const node = value as Node;

    if (node.type === 'Identifier') {
      const name = node.name as string;
      if (name === 'Math') report(node, 'Math taken as a whole');
      if (impureNames.has(name)) report(node, name);
    }
    if (node.operator === '**' || node.operator === '**=') report(node, `the operator ${node.operator}`);

    const plainName = node.computed === true ? undefined : ((node.property ?? node.key) as Node | undefined);
    if (node.type === 'MemberExpression' && (node.object as Node).name === 'Math' && plainName !== undefined) {
      const name = plainName.name as string;
      if (!exactMath.has(name)) report(node, `Math.${name}`);
      return;
    }
    for (const [field, child] of Object.entries(node)) {
      // `recording.Date` and `{ Date: 3 }` name a property, not the clock.
      if (child === plainName && (field === 'property' || (field === 'key' && node.shorthand !== true))) continue;
      visit(child);
    }
  };

  visit(program);
  return found;
}

/** Compiles `src/core` of a folder with the types of the language alone and returns what the compiler complains about. */
function compilerComplaints(folder: string): string[] {
  const compiler = join(checkout, 'node_modules/typescript/bin/tsc');
  const { status, stdout } = spawnSync(
    process.execPath,
    [compiler, '--noEmit', '--pretty', 'false', '--project', 'tsconfig.core.json'],
    { cwd: folder, encoding: 'utf8' },
  );
  const complaints = stdout.split('\n').filter((line) => /: error TS|^error TS/.test(line));
  if (status !== 0 && complaints.length === 0) throw new Error(`tsc: must run, got exit status ${status}: ${stdout}`);
  return complaints;
}

const core = join(checkout, 'src/core');
const corePaths = readdirSync(core, { recursive: true, encoding: 'utf8' }).filter((path) => path.endsWith('.ts'));

describe('src/core', () => {
  it('has modules to read', () => {
    expect(corePaths.length).toBeGreaterThan(0);
  });

  it('uses no clock, no chance and no inexact elementary function', () => {
    const found = corePaths.flatMap((path) =>
      impurities(readFileSync(join(core, path), 'utf8')).map((what) => `${path}:${what}`),
    );
    expect(found).toEqual([]);
  });

  it('compiles with nothing but the language: no page, no process, no timer', () => {
    expect(compilerComplaints(checkout)).toEqual([]);
  });
});

describe('impurities', () => {
  const cases: [text: string, found: string[], why: string][] = [
    ['const a = Math.sqrt(2) + Math.PI;', [], 'exact by the standard'],
    ['// Math.sin\nconst a = "Date.now()";', [], 'comments and texts are not code'],
    ['const a = b.Date + { Date: 1 }.eval;', [], 'names of properties'],
    ['\nconst a = Math.random();', ['2: Math.random'], 'unseeded chance, and the line it is on'],
    ['const a = Math.sin(1) + Math.tanh(2);', ['1: Math.sin', '1: Math.tanh'], 'differ in the last bit'],
    ['const a = Math["sin"](1);', ['1: Math taken as a whole'], 'a way around the list'],
    ['const { sin } = Math;', ['1: Math taken as a whole'], 'another way around'],
    ['const a = 2 ** 3;', ['1: the operator **'], 'implemented as pow'],
    ['let a = 2; a **= 3;', ['1: the operator **='], 'implemented as pow'],
    ['const a = new Date();', ['1: Date'], 'a clock'],
    ['const a = globalThis.document;', ['1: globalThis'], 'the page by the back door'],
    ['const a = [1][Date.now()];', ['1: Date'], 'inside brackets it is read'],
  ];

  it.each(cases)('%s', (text, found) => {
    expect(impurities(text)).toEqual(found);
  });
});

describe('compiling with nothing but the language', () => {
  let folder: string;
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'sweepwise-purity-'));
  });
  afterAll(() => rmSync(folder, { recursive: true }));

  it('refuses the outside world, and allows its names for things of our own', () => {
    const names = [
      'window',
      'document',
      'process',
      'performance',
      'setTimeout',
      'console',
      'fetch',
      'Worker',
      'crypto',
    ];
    mkdirSync(join(folder, 'src/core'), { recursive: true });
    for (const name of names) writeFileSync(join(folder, `src/core/${name}.ts`), `export const wrong = ${name};\n`);
    writeFileSync(join(folder, 'src/core/own.ts'), 'export const own = (window: number) => window * 2;\n');
    for (const file of ['tsconfig.json', 'tsconfig.core.json']) copyFileSync(join(checkout, file), join(folder, file));

    const complainedAbout = compilerComplaints(folder).map((line) => /^src\/core\/(\w+)\.ts/.exec(line)?.[1] ?? line);
    expect(complainedAbout.sort()).toEqual(names.sort());
  });
});
