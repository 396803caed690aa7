import { appendFile, cp, mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { computeState, ingest, nodeFiles } from '@stillmark/pipeline';
import type { SiteView } from '@stillmark/records';
import { afterEach, beforeEach, expect, inject, test } from 'vitest';
import { mustRun } from '../support/command.ts';

// What was computed before must change no byte of what is written.
let folder: string;
let project: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-memory-'));
  project = join(folder, 'project');
  await cp(inject('demoProject'), project, { recursive: true });
});
afterEach(() => rm(folder, { recursive: true, force: true }));

const manifestOf = async (...more: string[]): Promise<string> => {
  const site = join(folder, `site-${Math.floor(performance.now() * 1000)}`);
  await mustRun(['snapshot', project, '--out', site, ...more]);
  return readFile(join(site, 'manifest.json'), 'utf8');
};
const computed = (): string => join(project, 'store/computed');

test('with memory, without, and with memory that is damaged, a snapshot has the same bytes', async () => {
  await rm(computed(), { recursive: true, force: true });
  const anew = await manifestOf('--anew');
  expect((await readdir(join(project, 'store'))).includes('computed')).toBe(false);
  expect(await manifestOf()).toBe(anew);
  const kept = await readdir(computed());
  expect(kept.length).toBeGreaterThan(0);
  expect(await manifestOf()).toBe(anew);
  for (const [i, name] of kept.entries()) {
    if (i % 3 === 0) await writeFile(join(computed(), name), 'not a result');
    if (i % 3 === 1) await appendFile(join(computed(), name), 'x');
  }
  expect(await manifestOf()).toBe(anew);
});

test('after every delivery the site is that of everything computed anew', async () => {
  const rows = (await readFile(join(project, 'positions/2026-11.csv'), 'utf8')).trimEnd().split('\n');
  const [header, ...body] = rows;
  const x = header!.split(',').indexOf('x');
  const corrected = (row: string): string =>
    row
      .split(',')
      .map((field, k) => (k === x ? (Number(field) + 0.0004).toFixed(4) : field))
      .join(',');
  // The newest day comes hour by hour, then a late hour, then one that is corrected.
  await rm(join(project, 'store'), { recursive: true });
  const last = body
    .map((r) => r.split(',')[0]!)
    .toSorted()
    .at(-1)!;
  const held = body.filter((r) => r.split(',')[0]!.slice(0, 10) === last.slice(0, 10));
  await writeFile(
    join(project, 'positions/2026-11.csv'),
    `${[header, ...body.filter((r) => !held.includes(r))].join('\n')}\n`,
  );
  await mustRun(['ingest', project]);
  await manifestOf();
  const steps = [held.slice(0, 20), held.slice(20, -8), held.slice(-8), [corrected(held[0]!)]];
  for (const [i, part] of steps.entries()) {
    await writeFile(join(project, `positions/run-${i}.csv`), `${[header, ...part].join('\n')}\n`);
    await mustRun(['ingest', project]);
    expect(await manifestOf(), `after delivery ${i}`).toBe(await manifestOf('--anew'));
  }
});

test('after every kind of change everything is as if it were computed anew', async () => {
  // The dam with four of its stations: triggers, pairs, logs and committed responses, two streams, a base that moves.
  await rm(project, { recursive: true });
  await cp(inject('larkmoorProject'), project, { recursive: true });
  await rm(join(project, 'store'), { recursive: true });
  const kept = new Set(['B2', 'B3', 'T04', 'T07']);
  const [first, second] = ['2026-11-22T20', '2026-11-22T21'];
  const late = ['2026-05-14T03', '2026-05-14T04'];
  const heldBack = [first, second, ...late];
  const parts = new Map<string, string>();
  const streams = ['from-B1', 'from-B2'];
  for (const stream of streams)
    for (const file of await readdir(join(project, 'positions', stream))) {
      const path = join(project, 'positions', stream, file);
      const [header, ...rows] = (await readFile(path, 'utf8')).trimEnd().split('\n');
      const own = rows.filter((row) => kept.has(row.split(',')[1]!) && row < '2026-11-22T22');
      const of = (keep: (row: string) => boolean): string => `${[header, ...own.filter(keep)].join('\n')}\n`;
      await writeFile(
        path,
        of((row) => !heldBack.some((hour) => row.startsWith(hour))),
      );
      for (const hour of heldBack)
        if (own.some((row) => row.startsWith(hour)))
          parts.set(
            `${stream} ${hour}`,
            of((row) => row.startsWith(hour)),
          );
    }
  const deliver =
    (...hours: readonly string[]) =>
    async (): Promise<void> => {
      for (const hour of hours)
        for (const stream of streams)
          await writeFile(
            join(project, 'positions', stream, `run-${hour}.csv`),
            parts.get(`${stream} ${hour}`)!,
          );
    };
  const edit = (from: string, to: string) => async (): Promise<void> => {
    const path = join(project, 'project.yaml');
    const text = await readFile(path, 'utf8');
    expect(text.split(from), from).toHaveLength(2);
    await writeFile(path, text.replace(from, to));
  };
  // One candidate of alarms is as good as a hundred here.
  await edit(
    'windows: [6 h, 12 h, 24 h]\n    levels: [4 mm, 6 mm, 8 mm]',
    'windows: [24 h]\n    levels: [8 mm]',
  )();
  const event =
    'events:\n  - { at: 2026-07-10T10:00:00Z, what: looked at, kind: instrument, station: T07 }\n';
  const decision = `decisions:
  - { base: B2, finding: stable, by: responsible engineer, at: 2026-11-20T10:00:00Z, why: Check survey of that week. }
`;
  const steps: readonly (readonly [what: string, act: () => Promise<unknown>])[] = [
    ['at first', () => Promise.resolve()],
    ['the next hour', deliver(first)],
    ['a late delivery', deliver(...late)],
    ['the next hour after it', deliver(second)],
    ['another event', edit('events:\n', event)],
    ['the same event of another kind', edit('looked at, kind: instrument', 'looked at, kind: structural')],
    ['another confidence', edit('  confidence: 0.95', '  confidence: 0.9')],
    [
      'another window of a trigger',
      edit('    window: 24 h\n    basis: confident', '    window: 12 h\n    basis: confident'),
    ],
    ['another axis of the structure', edit('longitudinalAzimuth: 72', 'longitudinalAzimuth: 75')],
    [
      'more readings of a log',
      () => appendFile(join(project, 'sensors/weather.csv'), '2026-10-02T12:30:00Z,31.0\n'),
    ],
    ['a decision about a base', edit('surveys:\n', `${decision}surveys:\n`)],
  ];
  const effects = { files: nodeFiles, progress: () => {}, nowMs: () => Date.parse('2026-11-23T08:00:00Z') };
  const remembering = { ...effects, memory: { code: 'test' } };
  const producer = { name: 'test', version: '0' };
  const textOf = ({ snapshot, series }: SiteView): string =>
    JSON.stringify([snapshot, [...series]], asNumbers);
  const seen = new Set<string>();
  for (const [what, act] of steps) {
    await act();
    const { problems } = await ingest(project, effects);
    expect(problems.filter(({ severity }) => severity === 'error')).toEqual([]);
    const remembered = textOf(await computeState(project, undefined, producer, remembering));
    expect(remembered === textOf(await computeState(project, undefined, producer, effects)), what).toBe(true);
    seen.add(remembered);
  }
  expect(seen.size).toBe(steps.length);
  const early = Date.parse('2026-09-30T12:00:00Z');
  expect(textOf(await computeState(project, early, producer, remembering))).toBe(
    textOf(await computeState(project, early, producer, effects)),
  );
}, 300_000);

/** Columns of numbers as their bytes. */
const asNumbers = (_: string, value: unknown): unknown =>
  ArrayBuffer.isView(value)
    ? Buffer.from(value.buffer, value.byteOffset, value.byteLength).toString('base64')
    : value;
