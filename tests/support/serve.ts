import { readFile } from 'node:fs/promises';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { join, normalize } from 'node:path';

const types: Record<string, string> = {
  html: 'text/html',
  css: 'text/css',
  js: 'text/javascript',
  json: 'application/json',
  woff2: 'font/woff2',
  parquet: 'application/octet-stream',
};

/** A plain web server for a folder under a sub-path, as any static host is. */
export async function serve(
  folder: string,
  prefix = '/',
): Promise<{ url: string; close: () => Promise<void> }> {
  const server = createServer((request, response) => {
    const path = new URL(request.url ?? '/', 'http://x').pathname;
    const file = path.startsWith(prefix) ? normalize(path.slice(prefix.length)) || 'index.html' : undefined;
    if (file === undefined || file.startsWith('..')) {
      response.writeHead(404).end();
      return;
    }
    readFile(join(folder, file === '.' ? 'index.html' : file)).then(
      (bytes) =>
        response.writeHead(200, { 'content-type': types[file.split('.').at(-1)!] ?? 'text/html' }).end(bytes),
      () => response.writeHead(404).end(),
    );
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const { port } = server.address() as AddressInfo;
  return {
    url: `http://127.0.0.1:${port}${prefix}`,
    close: () => new Promise((resolve) => server.close(() => resolve())),
  };
}
