import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import type { AddressInfo } from 'node:net';
import { fileURLToPath } from 'node:url';
import { defineConfig, type Plugin } from 'vite';
import packageFile from './package.json' with { type: 'json' };
import { codeVersion } from './src/study/engines/codeVersion.ts';

const labPort = 4600;

// `data:` in connect-src: pixi.js probes image support through a data address.
const contentSecurityPolicy = [
  "default-src 'none'",
  "script-src 'self'",
  "worker-src 'self'",
  "style-src-elem 'self'",
  "style-src-attr 'unsafe-inline'",
  "img-src 'self' data:",
  "font-src 'self'",
  "connect-src 'self' data:",
  "manifest-src 'self'",
  "base-uri 'none'",
  "form-action 'none'",
].join('; ');

/** Puts the policy into the built page only: the development server injects inline styles and scripts of its own. */
function policyInBuild(): Plugin {
  return {
    name: 'sweepwise-content-security-policy',
    apply: 'build',
    transformIndexHtml: () => [
      {
        tag: 'meta',
        attrs: { 'http-equiv': 'Content-Security-Policy', content: contentSecurityPolicy },
        injectTo: 'head-prepend',
      },
    ],
  };
}

/** Adds the service worker with the list of all files of the build, so that the lab opens without a network. */
function offlineInBuild(): Plugin {
  return {
    name: 'sweepwise-offline',
    apply: 'build',
    enforce: 'post',
    generateBundle(_options, bundle) {
      const source = readFileSync(new URL('src/web/offline/serviceWorker.js', import.meta.url), 'utf8');
      const files = [...new Set(['index.html', ...Object.keys(bundle)])].sort();
      const version = createHash('sha256').update(source);
      for (const file of Object.values(bundle)) version.update(file.type === 'chunk' ? file.code : file.source);
      this.emitFile({
        type: 'asset',
        fileName: 'serviceWorker.js',
        source: source
          .replace("['__FILES__']", JSON.stringify(files))
          .replace('__VERSION__', version.digest('hex').slice(0, 12)),
      });
    },
  };
}

/** Prints the lab's address on one plain line, so that people and scripts find it without reading a banner. */
function plainAddress(): Plugin {
  return {
    name: 'sweepwise-plain-address',
    configurePreviewServer(server) {
      server.httpServer.once('listening', () => {
        const { port } = server.httpServer.address() as AddressInfo;
        server.config.logger.info(`Sweepwise lab: http://localhost:${port}/`);
      });
    },
  };
}

export default defineConfig({
  root: 'src/web',
  base: './',
  // Rows that a study makes on the page name the same version as those of the terminal.
  define: { 'import.meta.env.SWEEPWISE_CODE': JSON.stringify(codeVersion(packageFile.version)) },
  build: {
    outDir: '../../dist',
    emptyOutDir: true,
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    target: 'es2022',
    // The drawing library changes far less often than the lab: a file of its own stays in the browser's cache.
    // It is wanted late: what the bundler's own loader needs must not lie in it.
    rolldownOptions: {
      output: {
        codeSplitting: {
          groups: [
            { name: 'loader', test: /vite.preload-helper/, priority: 2 },
            { name: 'pixi', test: /node_modules.pixi/, priority: 1 },
          ],
        },
      },
    },
  },
  // The package's own ES modules, as in Node (tsconfig.run.json): what is not used is left out.
  resolve: { alias: { 'ml-matrix': fileURLToPath(new URL('node_modules/ml-matrix/src/index.js', import.meta.url)) } },
  worker: { format: 'es' },
  server: { host: 'localhost', port: labPort },
  preview: { host: 'localhost', port: labPort },
  plugins: [policyInBuild(), offlineInBuild(), plainAddress()],
});
