import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';

/** How heavy a built page is, kB after gzip. */
export interface PageWeight {
  /** Everything that the page asks for before it can be used: page, styles, scripts and what these import at once. */
  firstKb: number;
  /** All files of the build. */
  allKb: number;
  files: { name: string; kb: number; isFirst: boolean }[];
}

/** Weighs a build: follows the page's tags, and the imports that its scripts make before they run. */
export function weighPage(folder: string): PageWeight {
  const first = new Set<string>(['index.html']);
  const page = readFileSync(join(folder, 'index.html'), 'utf8');
  const waiting = [...page.matchAll(/(?:src|href)="\.\/([^"]+)"/g)].map(([, name]) => name);
  while (waiting.length > 0) {
    const name = waiting.pop() as string;
    if (first.has(name)) continue;
    first.add(name);
    if (!name.endsWith('.js')) continue;
    const source = readFileSync(join(folder, name), 'utf8');
    for (const [, imported] of source.matchAll(/(?:from|import)\s*"\.\/([^"]+)"/g)) waiting.push(`assets/${imported}`);
  }
  // The bench's own worker is asked for at once, too.
  const all = [
    'index.html',
    'serviceWorker.js',
    ...readdirSync(join(folder, 'assets')).map((name) => `assets/${name}`),
  ];
  const files = all.map((name) => ({
    name,
    kb: gzipSync(readFileSync(join(folder, name))).length / 1000,
    isFirst: first.has(name) || /bench\.worker/.test(name),
  }));
  const sum = (chosen: typeof files) => chosen.reduce((total, { kb }) => total + kb, 0);
  return { firstKb: sum(files.filter(({ isFirst }) => isFirst)), allKb: sum(files), files };
}
