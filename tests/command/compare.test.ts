import { appendFile, cp, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Snapshot, SnapshotComparison } from '@stillmark/records';
import { afterAll, beforeAll, expect, inject, test } from 'vitest';
import { mustRun, stillmark } from '../support/command.ts';

const later = inject('demoSite');
let folder: string;
let early: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-compare-'));
  early = join(folder, 'early');
  await mustRun(['snapshot', inject('demoProject'), '--out', early, '--as-of', '2026-11-10']);
});
afterAll(() => rm(folder, { recursive: true, force: true }));

const snapshotOf = async (site: string): Promise<Snapshot> =>
  JSON.parse(await readFile(join(site, 'snapshot.json'), 'utf8')) as Snapshot;

async function comparison(a: string, b: string): Promise<SnapshotComparison> {
  const { out } = await mustRun(['compare', a, b, '--json']);
  return (JSON.parse(out) as { comparison: SnapshotComparison }).comparison;
}

test('two sites of one project: states and sizes are those of the two snapshots', async () => {
  const { out } = await mustRun(['compare', early, later]);
  expect(out).toMatch(/^Harrowfold slope as of 23 November 2026, .*, told against 10 November 2026, /);
  expect(out).toContain('States:\n  S3: establishing, before no data.');
  expect(out).toMatch(
    /\n {2}S2: moved, as before\. Horizontally [0-9.]+ mm ± [0-9.]+ mm toward \d+° \(before /,
  );
  const found = await comparison(early, later);
  const [a, b] = [await snapshotOf(early), await snapshotOf(later)];
  const s2 = found.stations.find(({ id }) => id === 'S2')!;
  const size = ({ stations }: Snapshot): unknown => {
    const { statement } = stations.find(({ id }) => id === 'S2')!;
    if (statement.kind !== 'displacement') throw new Error('S2 is stated');
    const { magnitude_mm, plusMinus_mm, azimuthDeg, distinguishable, detectable_mm } = statement.horizontal;
    return { value_mm: magnitude_mm, plusMinus_mm, azimuthDeg, distinguishable, detectable_mm };
  };
  expect(s2.figures[0]).toEqual({ figure: 'horizontal', before: size(a), after: size(b) });
  expect(found.inputs).toEqual([]);
  expect(found.configuration).toEqual([]);
});

test('told the other way round, before and after change places', async () => {
  const [there, back] = [await comparison(early, later), await comparison(later, early)];
  expect(back.before).toEqual(there.after);
  expect(back.stations.map(({ id, state }) => [id, state.before, state.after])).toEqual(
    there.stations.map(({ id, state }) => [id, state.after, state.before]),
  );
  expect((await mustRun(['compare', later, early])).out).toContain('The second is the older one.');
});

test('a site with itself, and with its snapshot.json alone', async () => {
  for (const other of [later, join(later, 'snapshot.json')])
    expect((await mustRun(['compare', later, other])).out).toContain('Nothing that is compared differs.');
});

test('inputs and settings that are others are told', async () => {
  const project = join(folder, 'project');
  await cp(inject('demoProject'), project, { recursive: true });
  const text = await readFile(join(project, 'project.yaml'), 'utf8');
  expect(text).toMatch(/horizontal: \d+ mm/);
  await writeFile(join(project, 'project.yaml'), text.replace(/horizontal: \d+ mm/, 'horizontal: 3 mm'));
  await mustRun(['snapshot', project, '--out', join(folder, 'other')]);
  const { out } = await mustRun(['compare', later, join(folder, 'other')]);
  expect(out).toMatch(
    /Configuration:\n {2}Smallest horizontal movement that must be found: 3 mm; before, \d+ mm\.\n/,
  );
  expect(out).toContain('Inputs:\n  project.yaml: other bytes.\n');
});

test('what a snapshot of somebody says does not reach the terminal as commands', async () => {
  const foreign = await snapshotOf(later);
  const file = join(folder, 'foreign.json');
  const project = { ...foreign.project, title: 'A\u001b[2J\u202eB' };
  await writeFile(file, JSON.stringify({ ...foreign, project }));
  const { out } = await mustRun(['compare', file, later]);
  expect(out).toContain('The first is of another project or title: A\\u001b[2J\\u202eB.');
});

test('what is no snapshot, and one that was changed, are refused', async () => {
  const refused = async (path: string): Promise<string> => {
    const { code, err } = await stillmark(['compare', later, path]);
    expect(code).not.toBe(0);
    return err;
  };
  expect(await refused(join(folder, 'none'))).toContain('USE_FILE_MISSING');
  expect(await refused(folder)).toContain('USE_FILE_MISSING');
  expect(await refused(join(later, 'index.html'))).toContain('SNAPSHOT_FORMAT');
  const foreign = await snapshotOf(later);
  const file = join(folder, 'nowhere.json');
  await writeFile(
    file,
    JSON.stringify({ ...foreign, project: { ...foreign.project, timeZone: 'No/Where' } }),
  );
  expect(await refused(file)).toContain('the time zone No/Where is not known');
  const changed = join(folder, 'changed');
  await cp(later, changed, { recursive: true });
  await appendFile(join(changed, 'snapshot.json'), ' ');
  expect(await refused(changed)).toContain('SNAPSHOT_FILE');
});

test('a site that was told against an earlier snapshot has a page of what has changed, and is the same otherwise', async () => {
  const since = join(folder, 'since');
  const project = inject('demoProject');
  await mustRun(['snapshot', project, '--out', since, '--since', early]);
  const page = await readFile(join(since, 'changes.html'), 'utf8');
  expect(page).toContain('told against 10 November 2026');
  expect(await readFile(join(since, 'index.html'), 'utf8')).toContain('changes.html');
  // The map can be told from the newest means that the earlier one had.
  const walkOf = async (site: string): Promise<{ previous?: number; timesMs: number[] }> =>
    JSON.parse(
      /data-walk="([^"]*)"/
        .exec(await readFile(join(site, 'map.html'), 'utf8'))![1]!
        .replaceAll('&#34;', '"')
        .replaceAll('&quot;', '"'),
    ) as { previous?: number; timesMs: number[] };
  const walk = await walkOf(since);
  const { asOf, settings } = await snapshotOf(early);
  const ended = walk.timesMs[walk.previous!]! + settings.windowMs / 2;
  expect(ended).toBeLessThanOrEqual(Date.parse(asOf));
  expect(ended).toBeGreaterThan(Date.parse(asOf) - settings.windowMs);
  expect((await walkOf(later)).previous).toBeUndefined();
  expect(await readFile(join(later, 'index.html'), 'utf8')).not.toContain('changes.html');
  expect(await readFile(join(since, 'snapshot.json'), 'utf8')).toBe(
    await readFile(join(later, 'snapshot.json'), 'utf8'),
  );
  const nothing = await stillmark(['snapshot', project, '--out', since, '--since', join(folder, 'none')]);
  expect(nothing.err).toContain('there is no snapshot');
});
