/**
 * New hours of positions on the demo dam, after `npm run demo`: `ingest` and `snapshot` of an hour within a day and of one that ends a day,
 * against a snapshot that computes everything anew, in the same run: `node tests/benchmarks/demo-hour.ts [runs]` (3 unless said; the
 * fastest of each counts). Prints seconds and ratios; asserts nothing.
 */
import { cp, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { timed } from '../support/timed.ts';

const runs = Number(process.argv[2] ?? 3);
const demo = join(import.meta.dirname, '../../demo/larkmoor-dam');
const streams = ['from-B1', 'from-B2'];

const folder = await mkdtemp(join(tmpdir(), 'stillmark-demo-hour-'));
try {
  for (const [what, hour] of [
    ['within a day', '2026-11-22T20'],
    ['that ends a day', '2026-11-22T23'],
  ] as const) {
    const [project, site, before] = ['project', 'site', 'before'].map((name) => join(folder, name)) as [
      string,
      string,
      string,
    ];
    await cp(demo, project, { recursive: true });
    await rm(join(project, 'store'), { recursive: true });
    const held = new Map<string, string>();
    for (const stream of streams) {
      const path = join(project, 'positions', stream, '2026-11.csv');
      const [header, ...rows] = (await readFile(path, 'utf8')).trimEnd().split('\n');
      const of = (keep: (row: string) => boolean): string => `${[header, ...rows.filter(keep)].join('\n')}\n`;
      held.set(
        stream,
        of((row) => row.startsWith(hour)),
      );
      await writeFile(
        path,
        of((row) => row < hour),
      );
    }
    await timed('ingest', project);
    const first = await timed('snapshot', project, '--out', site);
    await cp(join(project, 'store'), before, { recursive: true });
    for (const stream of streams)
      await writeFile(join(project, 'positions', stream, 'new.csv'), held.get(stream)!);
    const found = { ingest: Infinity, snapshot: Infinity, anew: Infinity };
    for (let i = 0; i < runs; i++) {
      await rm(join(project, 'store'), { recursive: true });
      await cp(before, join(project, 'store'), { recursive: true });
      found.ingest = Math.min(found.ingest, await timed('ingest', project));
      found.snapshot = Math.min(found.snapshot, await timed('snapshot', project, '--out', site));
      found.anew = Math.min(found.anew, await timed('snapshot', project, '--out', site, '--anew'));
    }
    const { ingest, snapshot, anew } = found;
    console.log(
      `an hour ${what}: ingest ${ingest.toFixed(1)} s, snapshot ${snapshot.toFixed(1)} s (aim: together under 5 s); first snapshot ${first.toFixed(1)} s, ` +
        `everything anew ${anew.toFixed(1)} s; ratio to it ${((ingest + snapshot) / anew).toFixed(2)}`,
    );
    for (const path of [project, site, before]) await rm(path, { recursive: true, force: true });
  }
} finally {
  await rm(folder, { recursive: true, force: true });
}
