/**
 * A timeline of a million epochs, gone along and looked at closer over HTTP in a headless Chromium: times between frames, of these the
 * share within 17 ms, and bytes fetched, set against frames of the same page at rest. `node tests/benchmarks/zoom.ts [epochs] [trace]`
 * (a million unless said; a path for the trace of the browser), after `npm run demo` has built the command. Asserts nothing.
 */
import { createWriteStream } from 'node:fs';
import { mkdir, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { execFile } from 'node:child_process';
import { once } from 'node:events';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { source } from '@stillmark/data/synthetic/noise.ts';
import { built } from '../support/command.ts';
import { launch } from '../support/browser.ts';
import { serve } from '../support/serve.ts';
import { header, idsOf, projectYaml, rowOf } from '../support/network.ts';

const epochs = Number(process.argv[2] ?? 1_000_000);
const trace = process.argv[3];
const stepMs = 300_000;
const endMs = Date.parse('2026-06-01T00:00:00Z');
const firstMs = endMs - epochs * stepMs;
const ids = idsOf(1);
const run = promisify(execFile);
const stillmark = (...args: string[]): Promise<unknown> => run(process.execPath, [built, ...args]);

const folder = await mkdtemp(join(tmpdir(), 'stillmark-zoom-'));
const [project, site] = [join(folder, 'project'), join(folder, 'site')];
await mkdir(join(project, 'positions'), { recursive: true });
await writeFile(
  join(project, 'project.yaml'),
  projectYaml(ids, { epoch: '2026.0', processingInterval: '24 h' }),
);
const out = createWriteStream(join(project, 'positions/all.csv'));
out.write(header);
const random = source(5);
for (let i = 0; i < 40; i++) random.normal();
for (let t = firstMs; t < endMs; t += stepMs) {
  // Noise, a yearly wave of a centimetre, and a slow creep.
  const year = (t - firstMs) / (365.25 * 86_400_000);
  const wave = 0.01 * Math.sin(2 * Math.PI * year);
  const moved = [wave + 0.003 * random.normal(), 0.003 * random.normal(), -0.002 * year + 0.006 * random.normal()] as const; // prettier-ignore
  if (!out.write(rowOf(ids, 0, t, moved))) await once(out, 'drain');
}
out.end();
await once(out, 'close');
await stillmark('ingest', project);
await stillmark('snapshot', project, '--out', site);

const log: string[] = [];
const host = await serve(site, '/', { ranges: true, log });
const browser = await launch();
const page = await (await browser.newContext({ viewport: { width: 1440, height: 900 } })).newPage();
let fetched = 0;
page.on('response', (response) => (fetched += Number(response.headers()['content-length'] ?? 0)));
await page.goto(`${host.url}stations/${ids[0]}.html`);
const figure = page.locator('.at-wide svg[data-from]');
await figure.scrollIntoViewIfNeeded();
const first = fetched;

/** Times between frames, milliseconds, while something is done. */
async function frames(doing: () => Promise<void>): Promise<number[]> {
  await page.evaluate(() => {
    const times: number[] = [];
    const tick = (now: number): void => {
      times.push(now);
      Object.assign(globalThis, { frame: requestAnimationFrame(tick), times });
    };
    requestAnimationFrame(tick);
  });
  await doing();
  const times = await page.evaluate(() => {
    const { frame, times } = globalThis as unknown as { frame: number; times: number[] };
    cancelAnimationFrame(frame);
    return times;
  });
  return times.slice(1).map((t, i) => t - times[i]!);
}

function tell(what: string, gaps: readonly number[]): void {
  const sorted = gaps.toSorted((a, b) => a - b);
  const part = (share: number): string => sorted[Math.floor(share * (sorted.length - 1))]!.toFixed(1);
  const whole = gaps.filter((gap) => gap < 17).length / gaps.length;
  console.log(
    `${what}: ${gaps.length} frames, median ${part(0.5)} ms, 95 of 100 within ${part(0.95)} ms, longest ${part(1)} ms, ${(100 * whole).toFixed(1)} % under 17 ms`,
  );
}

const box = (await figure.boundingBox())!;
const [x, y] = [box.x + box.width / 2, box.y + box.height / 3];
const wait = (ms: number): Promise<void> => page.waitForTimeout(ms);

tell('at rest', await frames(() => wait(3000)));
await page.getByRole('button', { name: '1 year' }).click();
await wait(2000);
const year = fetched;
if (trace !== undefined) await browser.startTracing(page, { path: trace });
tell(
  'going along a year',
  await frames(async () => {
    for (const way of [1, 1, -1, -1, 1]) {
      await page.mouse.move(x, y);
      await page.mouse.down();
      for (let i = 1; i <= 60; i++) {
        await page.mouse.move(x + way * 6 * i, y);
        await wait(8);
      }
      await page.mouse.up();
    }
  }),
);
tell(
  'closer and wider',
  await frames(async () => {
    await page.mouse.move(x, y);
    await page.keyboard.down('Control');
    for (let i = 0; i < 240; i++) {
      await page.mouse.wheel(0, i % 120 < 60 ? -20 : 20);
      await wait(8);
    }
    await page.keyboard.up('Control');
  }),
);
if (trace !== undefined) await browser.stopTracing();
await wait(2000);
await page.getByRole('button', { name: '7 days' }).click();
await wait(2000);
const mb = (bytes: number): string => `${(bytes / 1e6).toFixed(2)} MB`;
console.log(
  `fetched: page ${mb(first)}, for a year ${mb(year - first)}, in all ${mb(fetched)}, in ${log.filter((line) => line.includes('bytes=')).length} parts; ${await page.locator('.zoom-note').innerText()}`,
);
await browser.close();
await host.close();
await rm(folder, { recursive: true, force: true });
