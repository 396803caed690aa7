/**
 * What Lighthouse (mobile preset) gives to pages of a site that is served compressed: scores, the largest paint, what moves, bytes. Lighthouse weighs 180 MB and
 * is no part of this repository: `npm install --prefix DIR lighthouse`, then `node tests/benchmarks/lighthouse.ts DIR [site] [page ...]`, after `npm run demo`.
 * The largest paint is told twice, as the median of three runs each: as Lighthouse reckons it from a page that came at once (its usual way, where all that came
 * before the paint counts as awaited), and as it is seen on a line and a processor that are slowed down in fact. Asserts nothing: both depend on what else the
 * machine does.
 */
import { createRequire } from 'node:module';
import { createServer } from 'node:http';
import { readFile } from 'node:fs/promises';
import type { AddressInfo } from 'node:net';
import { join, normalize, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { gzipSync } from 'node:zlib';
import { chromium } from 'playwright-core';

const [home, site = 'demo/site', ...named] = process.argv.slice(2);
if (home === undefined) throw new Error('a folder with lighthouse: npm install --prefix DIR lighthouse');
const pages = named.length > 0 ? named : ['index.html', 'map.html', 'stations/T07.html'];

interface Audit {
  readonly score: number | null;
  readonly numericValue?: number;
  readonly displayValue?: string;
}
interface Result {
  readonly lhr: {
    readonly categories: Record<string, { readonly score: number }>;
    readonly audits: Record<string, Audit>;
  };
}
const require = createRequire(join(resolve(home), 'node_modules/x.js'));
const { default: lighthouse } = (await import(pathToFileURL(require.resolve('lighthouse')).href)) as {
  default: (url: string, flags: object) => Promise<Result>;
};

const types: Record<string, string> = { html: 'text/html', js: 'text/javascript', css: 'text/css', woff2: 'font/woff2', json: 'application/json', png: 'image/png' }; // prettier-ignore
const server = createServer((request, response) => {
  const path = normalize(new URL(request.url ?? '/', 'http://x').pathname);
  readFile(join(site, path)).then(
    (bytes) =>
      response
        .writeHead(200, {
          'content-type': `${types[path.split('.').at(-1)!] ?? 'application/octet-stream'}; charset=utf-8`,
          'content-encoding': 'gzip',
        })
        .end(gzipSync(bytes)),
    () => response.writeHead(404).end(),
  );
});
await new Promise<void>((done) => server.listen(0, '127.0.0.1', done));
const { port } = server.address() as AddressInfo;
const debugging = port + 1;
const browser = await chromium.launch({
  executablePath: process.env['CHROMIUM_PATH'] ?? '/usr/bin/chromium',
  args: ['--no-sandbox', '--disable-gpu', `--remote-debugging-port=${debugging}`],
});
const runs = 3;
const median = (values: readonly number[]): number => values.toSorted((a, b) => a - b)[values.length >> 1]!;
for (const page of pages) {
  const run = async (more: object): Promise<Result['lhr']> => {
    const settings = { port: debugging, logLevel: 'error', output: 'json', ...more };
    return (await lighthouse(`http://127.0.0.1:${port}/${page}`, settings)).lhr;
  };
  const painted = async (more: object): Promise<string> => {
    const times: number[] = [];
    for (let i = 0; i < runs; i++)
      times.push((await run(more)).audits['largest-contentful-paint']?.numericValue ?? Number.NaN);
    return `${(median(times) / 1000).toFixed(2)} s`;
  };
  const lhr = await run({});
  const only = { onlyCategories: ['performance'] };
  const [reckoned, seen] = [await painted(only), await painted({ ...only, throttlingMethod: 'devtools' })];
  const score = (name: string): string => String(Math.round(100 * (lhr.categories[name]?.score ?? 0)));
  const audit = (name: string): string => lhr.audits[name]?.displayValue ?? '–';
  console.log(
    `${page}: performance ${score('performance')}, accessibility ${score('accessibility')}, best practices ${score('best-practices')}, search ${score('seo')}; largest paint ${reckoned} as reckoned, ${seen} as seen, moves ${audit('cumulative-layout-shift')}, blocked ${audit('total-blocking-time')}, ${audit('total-byte-weight')}`,
  );
}
await browser.close();
server.close();
