import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build, createServer, type Plugin, preview } from 'vite';
import type { TestProject } from 'vitest/node';
import { chromiumPath } from './chromium.ts';

declare module 'vitest' {
  interface ProvidedContext {
    /** Address of the built site, with a trailing slash. */
    siteUrl: string;
    /** Folder of the built site. */
    siteFolder: string;
    /** Address of a blank page with `importModule('/src/core/...')`, for running modules in a real browser. */
    sourceUrl: string;
  }
}

declare global {
  /** On the blank page only: imports a module of the checkout. Vitest rewrites a plain `import()` in a test's callback. */
  function importModule<Module>(path: string): Promise<Module>;
}

const checkout = fileURLToPath(new URL('../..', import.meta.url));

/** Serves an empty page, so that a test can import modules without starting the lab. */
const blankPage: Plugin = {
  name: 'sweepwise-blank-page',
  configureServer(server) {
    server.middlewares.use('/blank', (_request, response) => {
      response.setHeader('Content-Type', 'text/html');
      response.end(
        '<!doctype html><title>blank</title><link rel="icon" href="data:,">' +
          '<script>globalThis.importModule = (path) => import(path);</script>',
      );
    });
  },
};

/** Once before the browser tests: finds or installs a browser, builds the site, serves it and the source modules. */
export default async function serveSite(project: TestProject): Promise<() => Promise<void>> {
  await chromiumPath();

  // Not dist/: a lab that someone is serving from there must survive a test run.
  const outDir = await mkdtemp(join(tmpdir(), 'sweepwise-site-'));
  const configFile = join(checkout, 'vite.config.ts');
  const onFreePort = { host: '127.0.0.1', port: 0 };
  // Vitest sets NODE_ENV to "test", which would build Lit's and our own code for development.
  const environmentBefore = process.env.NODE_ENV;
  process.env.NODE_ENV = 'production';
  await build({ configFile, logLevel: 'warn', mode: 'production', build: { outDir, emptyOutDir: true } });
  process.env.NODE_ENV = environmentBefore;
  const site = await preview({ configFile, logLevel: 'warn', build: { outDir }, preview: onFreePort });

  const source = await createServer({
    configFile: false,
    root: checkout,
    logLevel: 'warn',
    appType: 'custom',
    cacheDir: 'node_modules/.cache/sweepwise-source',
    // Scanned up front: a package discovered later would reload the page in the middle of a test.
    optimizeDeps: { entries: ['src/core/**/*.ts'] },
    server: { ...onFreePort, hmr: false, watch: null },
    plugins: [blankPage],
  });
  await source.listen();

  project.provide('siteFolder', outDir);
  project.provide('siteUrl', localAddress(site.resolvedUrls));
  project.provide('sourceUrl', `${localAddress(source.resolvedUrls)}blank`);

  return async () => {
    await Promise.all([site.close(), source.close()]);
    await rm(outDir, { recursive: true });
  };
}

function localAddress(urls: { local: string[] } | null): string {
  if (urls === null || urls.local.length === 0) throw new Error('serveSite: a server must listen, got no address');
  return urls.local[0];
}
