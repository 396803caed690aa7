import { cp, mkdir, mkdtemp, readFile, rm, symlink, writeFile } from 'node:fs/promises';
import { spawnSync } from 'node:child_process';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { broadcastOrbits, observations } from '@stillmark/data/larkmoor-dam/receivers.ts';
import type { Snapshot, TrackingRecord } from '@stillmark/records';
import { afterEach, beforeEach, describe, expect, inject, test } from 'vitest';
import { mustRun, stillmark } from '../support/command.ts';

// What receivers track, and files that lie elsewhere, by the built command on a copy of the demo slope.
let folder: string;
let project: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-receivers-'));
  project = join(folder, 'project');
  await cp(inject('demoProject'), project, { recursive: true });
});
afterEach(() => rm(folder, { recursive: true, force: true }));

const declare = async (more: string): Promise<void> => {
  const file = join(project, 'project.yaml');
  await writeFile(file, `${await readFile(file, 'utf8')}\n${more}\n`);
};
// An hour of an observed day, as the receiver of S1 wrote it; the slope lies elsewhere than the dam.
const hourOf = (marker: string): string => {
  const lines = observations('B1')
    .replace(/^B1 +MARKER NAME$/m, `${marker.padEnd(60)}MARKER NAME`)
    .split('\n')
    .filter((line) => !line.includes('APPROX POSITION'));
  return `${lines
    .slice(
      0,
      lines.findIndex((line) => line.startsWith('> 2026 11 22 01 00 18')),
    )
    .join('\n')}\n`;
};
const trackedOf = async (id: string): Promise<TrackingRecord | undefined> => {
  await mustRun(['snapshot', project, '--out', join(folder, 'site')]);
  const { health } = JSON.parse(await readFile(join(folder, 'site/snapshot.json'), 'utf8')) as Snapshot;
  return health.stations.find(({ station }) => station === id)!.tracking[0];
};

describe('observation files', () => {
  beforeEach(() =>
    declare('tracking: [{ name: receivers, format: rinex, files: [observations/*], orbits: [orbits/*] }]'),
  );

  test('are read with orbits that come later, once, whatever their form', async () => {
    await mkdir(join(project, 'observations'));
    await mkdir(join(project, 'orbits'));
    await writeFile(join(project, 'observations/s1.rnx.gz'), gzipSync(hourOf('S1')));
    const first = await stillmark(['ingest', project]);
    // The orbits are asked for, the observations are in.
    expect(first.err).toContain('no file in the project folder matches orbits/*');
    expect(first.out).toContain('ingested observations/s1.rnx.gz');
    const before = (await trackedOf('S1'))!;
    expect(before.recent).toMatchObject({ hours: 1, completeness: 1 });
    expect(before.recent.trackedShare).toBeUndefined();
    await writeFile(join(project, 'orbits/brdc.nav'), broadcastOrbits());
    await mustRun(['ingest', project]);
    const after = (await trackedOf('S1'))!;
    expect(after.recent.hours).toBe(1);
    expect(after.recent.satellites).toBe(before.recent.satellites);
    // The slope sees another sky than the dam: much of what is above its mask was not tracked at the dam.
    expect(after.recent.trackedShare).toBeGreaterThan(0.5);
    expect((await mustRun(['ingest', project])).out).not.toContain(' new, 0 repeated\ningested observations');
  });

  test('in a zip archive, made by zip, count as its files', async () => {
    await mkdir(join(project, 'orbits'));
    await writeFile(join(project, 'orbits/brdc.nav'), broadcastOrbits());
    await mkdir(join(folder, 'in'));
    for (const id of ['S1', 'S2']) await writeFile(join(folder, `in/${id}.rnx`), hourOf(id));
    await mkdir(join(project, 'observations'));
    const packed = spawnSync('python3', [
      '-m',
      'zipfile',
      '-c',
      join(project, 'observations/hour.zip'),
      join(folder, 'in/S1.rnx'),
      join(folder, 'in/S2.rnx'),
    ]);
    if (packed.error || packed.status !== 0) return;
    await mustRun(['ingest', project]);
    expect((await trackedOf('S2'))!.recent.hours).toBe(1);
  });

  test('of a marker that is no station, or in the compact form, are refused by name', async () => {
    await mkdir(join(project, 'observations'));
    await mkdir(join(project, 'orbits'));
    await writeFile(join(project, 'orbits/brdc.nav'), broadcastOrbits());
    await writeFile(join(project, 'observations/x.rnx'), hourOf('X9'));
    await writeFile(
      join(project, 'observations/c.crx'),
      `${'3.0'.padEnd(20)}${'COMPACT RINEX FORMAT'.padEnd(40)}CRINEX VERS   / TYPE\n`,
    );
    const { code, err } = await stillmark(['check', project]);
    expect(code).toBe(1);
    expect(err).toContain('the marker X9 is not a station');
    expect(err).toContain('the compact form of RINEX');
  });
});

describe('files that lie elsewhere', () => {
  const csv = 'positions/elsewhere.csv';
  beforeEach(async () => {
    await writeFile(join(folder, 'elsewhere.csv'), 'time,station\n');
  });

  test('are refused where a link leads out of the folder, and read where the project allows it', async () => {
    await symlink(join(folder, 'elsewhere.csv'), join(project, csv));
    const refused = await stillmark(['check', project]);
    expect(refused.code).toBe(1);
    expect(refused.err).toContain('the file lies outside the project folder');
    expect(refused.err).toContain(csv);
    await declare("outside: ['..']");
    const read = await stillmark(['check', project]);
    expect(read.err).not.toContain('outside the project folder');
    expect(read.err).toContain('INPUT_COLUMN');
  });

  test('that are no files hold nobody up, and links to nothing are named', async () => {
    expect(spawnSync('mkfifo', [join(project, 'positions/pipe.csv')]).status).toBe(0);
    await symlink(join(project, 'positions/nothing.csv'), join(project, 'positions/dangling.csv'));
    const { code, err } = await stillmark(['check', project]);
    expect(code).toBe(1);
    expect(err).toContain('positions/pipe.csv');
    expect(err).toContain('this is no file');
    expect(err).toContain('positions/dangling.csv');
    expect(err).toContain('the link leads to nothing');
  });
});

describe('what tracking was read with', () => {
  beforeEach(async () => {
    await declare(
      'tracking: [{ name: receivers, format: rinex, files: [observations/*], orbits: [orbits/*] }]',
    );
    await mkdir(join(project, 'observations'));
    await mkdir(join(project, 'orbits'));
    await writeFile(join(project, 'observations/s1.rnx'), hourOf('S1'));
  });
  const expectedOf = async (): Promise<number> => (await trackedOf('S1'))!.recent.trackedShare!;

  test('orbits that grow, a mask that changes: the present ones count', async () => {
    const lines = broadcastOrbits().split('\n');
    // GPS alone first, then all, under the same name.
    const records = lines
      .slice(2)
      .join('\n')
      .split(/\n(?=[GE]\d\d )/);
    await writeFile(
      join(project, 'orbits/brdc.nav'),
      `${[...lines.slice(0, 2), ...records.filter((r) => r.startsWith('G'))].join('\n')}\n`,
    );
    await mustRun(['ingest', project]);
    const partly = await expectedOf();
    await writeFile(join(project, 'orbits/brdc.nav'), broadcastOrbits());
    await mustRun(['ingest', project]);
    const whole = await expectedOf();
    expect(whole).not.toBe(partly);
    const file = join(project, 'project.yaml');
    const text = await readFile(file, 'utf8');
    await writeFile(file, text.replace('orbits: [orbits/*]', 'orbits: [orbits/*], mask: 40'));
    await mustRun(['ingest', project]);
    const high = await expectedOf();
    expect(high).not.toBe(whole);
    await writeFile(file, text);
    await mustRun(['ingest', project]);
    expect(await expectedOf()).toBe(whole);
  });

  test('orbits outside the project folder are not followed', async () => {
    await writeFile(join(folder, 'brdc.nav'), broadcastOrbits());
    await symlink(join(folder, 'brdc.nav'), join(project, 'orbits/brdc.nav'));
    const { code, err } = await stillmark(['ingest', project]);
    expect(code).toBe(1);
    expect(err).toContain('orbits/brdc.nav');
    expect(err).toContain('outside the project folder');
  });
});
