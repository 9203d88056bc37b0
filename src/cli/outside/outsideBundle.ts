import { realpathSync } from 'node:fs';
import { basename, dirname, extname, isAbsolute, relative, resolve, sep } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Plugin } from 'esbuild';
import { UsageError } from '../arguments.ts';

const LAB = realpathSync(fileURLToPath(new URL('../../', import.meta.url)));
const ENTRY = fileURLToPath(new URL('../../core/averaging/outside.ts', import.meta.url));
const CODE = ['.ts', '.mts', '.js', '.mjs'];
const OURS = Symbol('resolved by the wall itself');

/**
 * Makes one script of somebody else's module and what it imports; types are dropped.
 *
 * Everything that comes into the script is read before any sandbox exists, so the wall stands here as well: a module
 * may import `sweepwise` and code from its own folder, nothing else. The lab's simulation would know the truth.
 *
 * @throws {UsageError} naming the file, the line and what is refused
 */
export async function outsideBundle(file: string): Promise<string> {
  return (await bundled(file)).code;
}

/**
 * Names the files that make somebody else's module: itself, and what it imports from its own folder.
 *
 * @returns paths from the module's folder, with / between, in order of the alphabet   @throws {UsageError} as `outsideBundle`
 */
export async function outsideSources(file: string): Promise<string[]> {
  const { sources } = await bundled(file);
  const folder = dirname(realpathSync(resolve(file)));
  return sources.map((path) => relative(folder, path).split(sep).join('/')).sort();
}

async function bundled(file: string): Promise<{ code: string; sources: string[] }> {
  const { build } = await import('esbuild');
  const sources = new Set<string>();
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
      tsconfigRaw: {}, // a tsconfig.json beside the module could name paths elsewhere
      supported: { 'dynamic-import': false }, // its rejection is an object of the realm outside
      plugins: [importWall(file, sources)],
    });
    return { code: outputFiles[0].text, sources: [...sources] };
  } catch (error) {
    const [first] = (error as { errors?: { text: string; location?: { line: number } }[] }).errors ?? [];
    const place = first?.location ? `line ${first.location.line}: ` : '';
    throw new UsageError(`--strategy: ${file} cannot be used: ${place}${first?.text ?? (error as Error).message}`);
  }
}

/** Lets in `sweepwise` with what it needs itself, and code from the folder of the module, which goes into `sources`. */
function importWall(file: string, sources: Set<string>): Plugin {
  const main = realpathSync(resolve(file));
  const folder = dirname(main);
  const lent = new Set<string>(); // files that belong to `sweepwise`
  const own = (path: string) =>
    path === main || (isWithin(folder, path) && !isWithin(LAB, path) && CODE.includes(extname(path)));
  return {
    name: 'import wall',
    setup(build) {
      build.onResolve({ filter: /.*/ }, async ({ path, importer, kind, resolveDir, pluginData }) => {
        if (pluginData === OURS || kind === 'entry-point') return null;
        const fromLent = lent.has(importer);
        if (path === 'sweepwise' && !fromLent) {
          lent.add(realpathSync(ENTRY));
          return { path: realpathSync(ENTRY) };
        }
        const isPath = /^\.{0,2}\//.test(path) || isAbsolute(path);
        if (!fromLent && !isPath)
          return { errors: [{ text: `may import sweepwise and its own files, got "${path}"` }] };
        const found = await build.resolve(path, { kind, importer, resolveDir, pluginData: OURS });
        if (found.errors.length > 0) return found;
        if (fromLent) lent.add(realpathSync(found.path));
        else if (!own(realpathSync(found.path))) {
          return { errors: [{ text: `may import code from its own folder only, got "${path}"` }] };
        }
        return { path: realpathSync(found.path), sideEffects: found.sideEffects };
      });
      // Patterns in an import name files without asking the rule above, so each file that is read is asked for again.
      build.onLoad({ filter: /.*/ }, ({ path }) => {
        const real = realpathSync(path);
        if (lent.has(real)) return null;
        if (own(real)) {
          sources.add(real);
          return null;
        }
        return { errors: [{ text: `may import code from its own folder only, got "${basename(path)}"` }] };
      });
    },
  };
}

function isWithin(folder: string, path: string): boolean {
  const way = relative(folder, path);
  return way !== '' && way !== '..' && !way.startsWith(`..${sep}`) && !isAbsolute(way);
}
