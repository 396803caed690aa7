import { readFile } from 'node:fs/promises';
import { createServer, type IncomingMessage, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { join, normalize } from 'node:path';

const types: Record<string, string> = {
  html: 'text/html',
  css: 'text/css',
  js: 'text/javascript',
  json: 'application/json',
  woff2: 'font/woff2',
  parquet: 'application/octet-stream',
  png: 'image/png',
};

/** A plain web server for a folder under a sub-path, as any static host is; one that serves parts of files where said. */
export async function serve(
  folder: string,
  prefix = '/',
  { ranges = false, log = [] as string[] } = {},
): Promise<{ url: string; close: () => Promise<void> }> {
  const server = createServer((request, response) => {
    const path = decodeURIComponent(new URL(request.url ?? '/', 'http://x').pathname);
    const file = path.startsWith(prefix) ? normalize(path.slice(prefix.length)) || 'index.html' : undefined;
    if (file === undefined || file.startsWith('..')) {
      response.writeHead(404).end();
      return;
    }
    void answer(
      join(folder, file === '.' ? 'index.html' : file),
      request,
      response,
      ranges ? log : undefined,
    );
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const { port } = server.address() as AddressInfo;
  return {
    url: `http://127.0.0.1:${port}${encodeURI(prefix)}`,
    close: () => new Promise((resolve) => server.close(() => resolve())),
  };
}

/** Answers with a file; with a part of it where `log` is given, which then says what was asked for. */
async function answer(
  path: string,
  { method, headers }: IncomingMessage,
  response: ServerResponse,
  log: string[] | undefined,
): Promise<void> {
  const bytes = await readFile(path).catch(() => undefined);
  if (!bytes) {
    response.writeHead(404).end();
    return;
  }
  const type = { 'content-type': types[path.split('.').at(-1)!] ?? 'text/html' };
  if (!log) {
    response.writeHead(200, type).end(bytes);
    return;
  }
  log.push(`${method} ${path} ${headers.range ?? ''}`.trim());
  const range = /^bytes=(\d+)-(\d*)$/.exec(headers.range ?? '');
  const [from, to] = range ? [Number(range[1]), Number(range[2] || bytes.length - 1)] : [0, bytes.length - 1];
  response
    .writeHead(range ? 206 : 200, {
      ...type,
      'content-length': to - from + 1,
      ...(range ? { 'content-range': `bytes ${from}-${to}/${bytes.length}` } : {}),
    })
    .end(method === 'HEAD' ? undefined : bytes.subarray(from, to + 1));
}
