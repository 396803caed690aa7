/**
 * A new hour of positions into stores of one and of ten years of hourly positions: `ingest` and `snapshot` of it, against each other and
 * against a snapshot that computes everything anew: `node tests/benchmarks/new-hour.ts [stations] [years ...]` (50 stations, 1 and 10
 * years unless said), after `npm run demo` has built the command. Prints seconds and ratios; asserts nothing.
 */
import { appendFile, mkdir, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { source, whitePlusFlicker } from '@stillmark/data/synthetic/noise.ts';
import { header, idsOf, projectYaml, rowOf } from '../support/network.ts';
import { timed } from '../support/timed.ts';

const stations = Number(process.argv[2] ?? 50);
const spans = process.argv.length > 3 ? process.argv.slice(3).map(Number) : [1, 10];
const hour = 3_600_000;
const endMs = Date.parse('2026-06-01T12:00:00Z');
const ids = idsOf(stations);
const random = source(3);
for (let i = 0; i < 40; i++) random.normal();

const row = (i: number, timeMs: number, enu: readonly [number, number, number]): string =>
  rowOf(ids, i, timeMs, enu);

async function writeProject(folder: string, years: number): Promise<void> {
  await mkdir(join(folder, 'positions'), { recursive: true });
  await writeFile(
    join(folder, 'project.yaml'),
    projectYaml(ids, { epoch: '2026.0', processingInterval: '1 h' }),
  );
  const days = Math.round(years * 365.25);
  // White noise each hour, flicker noise each day.
  const slow = ids.map(() =>
    [0, 1, 2].map((k) => whitePlusFlicker(days + 2, 0, k === 2 ? 6e-4 : 3e-4, random)),
  );
  const firstMs = endMs - days * 24 * hour;
  let month = '';
  let text = '';
  for (let t = firstMs; t < endMs; t += hour) {
    const now = new Date(t).toISOString().slice(0, 7);
    if (now !== month) {
      if (text !== '') await writeFile(join(folder, `positions/${month}.csv`), header + text);
      [month, text] = [now, ''];
    }
    const day = Math.floor((t - firstMs) / (24 * hour));
    for (let i = 0; i < stations; i++)
      text += row(
        i,
        t,
        [0, 1, 2].map((k) => slow[i]![k]![day]! + (k === 2 ? 4e-3 : 2e-3) * random.normal()) as [
          number,
          number,
          number,
        ],
      );
  }
  await appendFile(join(folder, `positions/${month}.csv`), header + text);
}

const found: { years: number; hour: number; anew: number }[] = [];
for (const years of spans) {
  const folder = await mkdtemp(join(tmpdir(), 'stillmark-hour-'));
  const [project, site] = [join(folder, 'project'), join(folder, 'site')];
  await writeProject(project, years);
  await timed('ingest', project);
  const from = new Date(endMs - Math.round(years * 365.25) * 24 * hour + 24 * hour);
  const to = new Date(from.getTime() + 28 * 24 * hour);
  await timed(
    'commit',
    project,
    ...ids,
    '--from',
    from.toISOString(),
    '--to',
    to.toISOString(),
    '--by',
    'x',
    '--despite',
    'benchmark',
  );
  const first = await timed('snapshot', project, '--out', site);
  await writeFile(
    join(project, 'positions/new.csv'),
    header + ids.map((_, i) => row(i, endMs, [0.001, 0, 0])).join(''),
  );
  const ingest = await timed('ingest', project);
  const snapshot = await timed('snapshot', project, '--out', site);
  const anew = await timed('snapshot', project, '--out', site, '--anew');
  found.push({ years, hour: ingest + snapshot, anew });
  console.log(
    `${years} years: first snapshot ${first.toFixed(1)} s; a new hour: ingest ${ingest.toFixed(1)} s, snapshot ${snapshot.toFixed(1)} s; everything anew ${anew.toFixed(1)} s; ratio to it ${((ingest + snapshot) / anew).toFixed(2)} (aim: at most 0.25)`,
  );
  await rm(folder, { recursive: true, force: true });
}
if (found.length > 1)
  console.log(
    `${found.at(-1)!.years} years against ${found[0]!.years}: ${(found.at(-1)!.hour / found[0]!.hour).toFixed(2)} (aim: at most 1.5)`,
  );
