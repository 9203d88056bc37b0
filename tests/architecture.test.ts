import { execFileSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

/** One import that breaks a rule, as `rule: from -> to`; `to` is kept only for the checkout's own files. */
type Violation = string;

interface Reading {
  moduleCount: number;
  violations: Violation[];
}

const checkout = fileURLToPath(new URL('..', import.meta.url));
const settings = join(checkout, '.dependency-cruiser.cjs');
const reader = join(checkout, 'node_modules/dependency-cruiser/bin/dependency-cruise.mjs');

/** Reads every module under `src` of a folder and reports the imports that the settings forbid. */
function readImports(folder: string): Reading {
  const output = execFileSync(process.execPath, [reader, 'src', '--config', settings, '--output-type', 'json'], {
    cwd: folder,
    encoding: 'utf8',
    maxBuffer: 256 * 1024 * 1024,
  });
  const { modules, summary } = JSON.parse(output) as {
    modules: { source: string }[];
    summary: { violations: { from: string; to: string; rule: { name: string } }[] };
  };
  return {
    moduleCount: modules.filter(({ source }) => source.startsWith('src/')).length,
    violations: summary.violations.map(({ from, to, rule }) => `${rule.name}: ${from} -> ${to}`).sort(),
  };
}

describe('the import direction core <- lessons, study, formats <- cli, web', () => {
  const reading = readImports(checkout);

  it('was read from real modules', () => {
    expect(reading.moduleCount).toBeGreaterThan(0);
  });

  it('holds for every import in src', () => {
    expect(reading.violations).toEqual([]);
  });
});

describe('the reader of imports', () => {
  let folder: string;
  const files: Record<string, string> = {
    'src/core/good.ts': 'export const gain = 2;',
    'src/core/bad.ts': "import { page } from '../web/page.ts'; export const wrong = page;",
    'src/core/badType.ts': "import type { Page } from '../web/page.ts'; export type Wrong = Page;",
    'src/core/badLater.ts': "export const wrong = () => import('../formats/good.ts');",
    'src/core/badNode.ts': "import { readFileSync } from 'node:fs'; export const wrong = readFileSync;",
    'src/core/badOutside.ts': "import { outside } from '../../tests/outside.ts'; export const wrong = outside;",
    'src/core/badMissing.ts': "import { gone } from './gone.ts'; export const wrong = gone;",
    'src/core/badPackage.ts': "import { html } from 'lit'; export const wrong = html;",
    'src/core/ringA.ts': "import { b } from './ringB.ts'; export const a = () => b;",
    'src/core/ringB.ts': "import { a } from './ringA.ts'; export const b = () => a;",
    'src/formats/good.ts': "export { gain } from '../core/good.ts';",
    'src/formats/bad.ts': "export { rows } from '../study/good.ts';",
    'src/formats/badNode.ts': "import { gunzipSync } from 'node:zlib'; export const wrong = gunzipSync;",
    'src/lessons/bad.ts': "export { gain } from '../formats/good.ts';",
    'src/study/good.ts': "import { gain } from '../formats/good.ts'; export const rows = gain;",
    'src/study/bad.ts': "export { page } from '../web/page.ts';",
    'src/cli/good.ts': "export { rows } from '../study/good.ts';",
    'src/cli/bad.ts': "export { page } from '../web/page.ts';",
    'src/web/page.ts': "import { gain } from '../core/good.ts'; export const page = gain; export type Page = number;",
    'src/web/bad.ts': "export { rows } from '../cli/good.ts';",
    'src/elsewhere/bad.ts': "export { gain } from '../core/good.ts';",
    'tests/outside.ts': 'export const outside = 1;',
  };
  const expected: Violation[] = [
    'core-stays-pure: src/core/badMissing.ts -> ./gone.ts',
    'core-stays-pure: src/core/badNode.ts -> fs',
    'core-stays-pure: src/core/badOutside.ts -> tests/outside.ts',
    'core-stays-pure: src/core/badPackage.ts -> lit',
    'known-folders-only: src/elsewhere/bad.ts -> src/core/good.ts',
    'no-circular: src/core/ringA.ts -> src/core/ringB.ts',
    'only-allowed-from-cli: src/cli/bad.ts -> src/web/page.ts',
    'only-allowed-from-core: src/core/bad.ts -> src/web/page.ts',
    'only-allowed-from-core: src/core/badLater.ts -> src/formats/good.ts',
    'only-allowed-from-core: src/core/badType.ts -> src/web/page.ts',
    'only-allowed-from-formats: src/formats/bad.ts -> src/study/good.ts',
    'only-allowed-from-lessons: src/lessons/bad.ts -> src/formats/good.ts',
    'only-allowed-from-study: src/study/bad.ts -> src/web/page.ts',
    'only-allowed-from-web: src/web/bad.ts -> src/cli/good.ts',
    'page-has-no-node: src/formats/badNode.ts -> zlib',
    'resolvable: src/core/badMissing.ts -> ./gone.ts',
    'resolvable: src/core/badPackage.ts -> lit',
    'source-only: src/core/badOutside.ts -> tests/outside.ts',
  ];

  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'sweepwise-arrows-'));
    for (const [path, text] of Object.entries(files)) {
      mkdirSync(join(folder, dirname(path)), { recursive: true });
      writeFileSync(join(folder, path), text);
    }
  });
  afterAll(() => rmSync(folder, { recursive: true }));

  it('finds every kind of bad arrow and no other', () => {
    expect(readImports(folder).violations).toEqual(expected);
  });
});
