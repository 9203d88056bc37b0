import { createReadStream, existsSync, statSync } from 'node:fs';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { extname, join, normalize } from 'node:path';
import { createGzip } from 'node:zlib';

const types: Readonly<Record<string, string>> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript',
  '.css': 'text/css',
};

/** A plain static server of one folder under one path: what any web host does, and nothing that only ours would. */
export interface StaticServer {
  /** Address of the folder, with a trailing slash. */
  url: string;
  close(): Promise<void>;
}

/**
 * Serves a folder under a path such as `/some/where/`, compressed, with no caching asked for.
 *
 * @param headers - sent with every file besides
 */
export async function serveFolder(
  folder: string,
  path: string,
  headers: Readonly<Record<string, string>> = {},
): Promise<StaticServer> {
  const server = createServer((request, response) => {
    const { pathname } = new URL(request.url ?? '/', 'http://localhost');
    const below = pathname.startsWith(path) ? normalize(decodeURIComponent(pathname.slice(path.length))) : null;
    const file = below === null ? null : join(folder, below === '.' || below === '' ? 'index.html' : below);
    if (file === null || below?.startsWith('..') || !existsSync(file) || !statSync(file).isFile()) {
      response.writeHead(404).end();
      return;
    }
    response.writeHead(200, {
      'Content-Type': types[extname(file)] ?? 'application/octet-stream',
      'Content-Encoding': 'gzip',
      'Cache-Control': 'no-store',
      ...headers,
    });
    createReadStream(file).pipe(createGzip()).pipe(response);
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const { port } = server.address() as AddressInfo;
  return {
    url: `http://127.0.0.1:${port}${path}`,
    close: () =>
      new Promise((resolve) => {
        server.close(() => resolve());
        server.closeAllConnections();
      }),
  };
}
