import type { AddressInfo } from 'node:net';
import { defineConfig, type Plugin } from 'vite';

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
  build: {
    outDir: '../../dist',
    emptyOutDir: true,
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    target: 'es2022',
    // The drawing library changes far less often than the lab: a file of its own stays in the browser's cache.
    rolldownOptions: { output: { codeSplitting: { groups: [{ name: 'pixi', test: /node_modules.pixi/ }] } } },
  },
  worker: { format: 'es' },
  server: { host: 'localhost', port: labPort },
  preview: { host: 'localhost', port: labPort },
  plugins: [policyInBuild(), plainAddress()],
});
