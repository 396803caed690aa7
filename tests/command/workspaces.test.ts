import { cp, mkdir, mkdtemp, readdir, readFile, rename, rm, symlink, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, expect, inject, test, vi } from 'vitest';
import { mustRun, stillmark } from '../support/command.ts';
import { shellWith, type Shell, type ShellEnd } from '../support/shell.ts';

// Many projects as workspaces, run by the real Turborepo of this repository.
const top = fileURLToPath(new URL('../../', import.meta.url));
const manual = await readFile(join(top, 'apps/cli/docs/many-projects.md'), 'utf8');
const block = (language: string, phrase: string): string =>
  [...manual.matchAll(/^```(\w+)\n([^]*?)^```$/gm)].find(
    ([, its, text]) => its === language && text!.includes(phrase),
  )![2]!;

// Whole runs of the main job, some of them several to a test.
vi.setConfig({ testTimeout: 240_000 });

let folder: string;
let works: string;
let shell: Shell;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-workspaces-'));
  shell = await shellWith(folder);
  await symlink(join(top, 'node_modules/.bin/turbo'), join(folder, 'bin/turbo'));
  works = join(folder, 'works');
  for (const name of ['dam', 'slope']) {
    const project = join(works, 'projects', name);
    await cp(inject('demoProject'), project, { recursive: true });
    await rm(join(project, 'store'), { recursive: true });
    const file = join(project, 'project.yaml');
    const text = await readFile(file, 'utf8');
    await writeFile(file, text.replace('title: Harrowfold slope', `title: Invented ${name}`));
  }
});
afterAll(() => rm(folder, { recursive: true, force: true }));

const run = (script: string, cwd = works): ShellEnd =>
  shell(script, [], { HOME: folder, TURBO_TELEMETRY_DISABLED: '1', TURBO_NO_UPDATE_NOTIFIER: '1' }, cwd);

/** Of each project whether its site came from the cache. */
function taken(cwd = works, options = ''): Record<string, string> {
  const { status, stdout, stderr } = run(`npm run snapshot -- ${options}`, cwd);
  expect({ status, tail: status === 0 ? '' : stdout.slice(-2000) + stderr.slice(-2000) }).toEqual({
    status: 0,
    tail: '',
  });
  return Object.fromEntries(
    [...stdout.matchAll(/^(\w+):snapshot: cache (hit|miss)/gm)].map(([, name, how]) => [name!, how!]),
  );
}

const ingest = (cwd = works): unknown => expect(run('npm run ingest', cwd)).toMatchObject({ status: 0 });
const asOf = async (name: string): Promise<string> =>
  (JSON.parse(await readFile(join(works, 'projects', name, 'site/status.json'), 'utf8')) as { asOf: string })
    .asOf;
const manifest = (place: string, name: string): Promise<string> =>
  readFile(join(place, 'projects', name, 'site/manifest.json'), 'utf8');
const verified = async (name: string, place = works): Promise<unknown> =>
  expect(await stillmark(['verify', join(place, 'projects', name, 'site')])).toMatchObject({
    code: 0,
    err: '',
  });

test('the command writes what it says, in a repository too, and writes nothing over', async () => {
  expect(run(block('bash', 'stillmark workspaces'), folder)).toMatchObject({
    status: 0,
    stdout: block('text', 'written').replaceAll('works/', ''),
  });
  await writeFile(
    join(works, 'package-lock.json'),
    '{ "name": "works", "lockfileVersion": 3, "requires": true, "packages": {} }\n',
  );
  expect(run('git init --quiet').status).toBe(0);
  const own = join(works, 'turbo.json');
  const before = await readFile(own, 'utf8');
  await writeFile(own, `${before}\n`);
  const again = await mustRun(['workspaces', works, '--json']);
  expect(JSON.parse(again.out)).toMatchObject({ projects: ['dam', 'slope'], written: [] });
  expect(await readFile(own, 'utf8')).toBe(`${before}\n`);
});

test('the second run takes everything from the cache, and what comes from there is whole', async () => {
  ingest();
  expect(taken()).toEqual({ dam: 'miss', slope: 'miss' });
  const first = [await manifest(works, 'dam'), await manifest(works, 'slope')];
  ingest();
  await rm(join(works, 'projects/slope/site'), { recursive: true });
  expect(taken()).toEqual({ dam: 'hit', slope: 'hit' });
  await verified('dam');
  await verified('slope');
  expect([await manifest(works, 'dam'), await manifest(works, 'slope')]).toEqual(first);
});

/** A machine that has the same deliveries, and never computed anything. */
async function another(name: string): Promise<string> {
  const other = join(folder, name);
  await cp(works, other, {
    recursive: true,
    filter: (path) => !/\/(?:store|site|\.turbo|\.git)$/.test(path),
  });
  ingest(other);
  return other;
}

const shared = (): string => `--cache-dir='${join(works, '.turbo/cache')}'`;

test('another machine with the same deliveries finds the sites in a shared cache', async () => {
  const other = await another('second machine');
  expect(taken(other, shared())).toEqual({ dam: 'hit', slope: 'hit' });
  await verified('dam', other);
  expect(await manifest(other, 'dam')).toBe(await manifest(works, 'dam'));
});

test('a new delivery computes its project, and no other', async () => {
  const path = join(works, 'projects/slope/positions/2026-11.csv');
  const rows = (await readFile(path, 'utf8')).trimEnd().split('\n');
  const newest = rows.slice(-5).map((row) => row.replace(/2026-11-\d\dT\d\d:/, '2026-11-23T00:'));
  const header = rows[0]!;
  await writeFile(
    join(works, 'projects/slope/positions/late.csv'),
    `${[header, ...new Map(newest.map((row) => [row.split(',')[0], row])).values()].join('\n')}\n`,
  );
  const before = await asOf('slope');
  ingest();
  expect(taken()).toEqual({ dam: 'hit', slope: 'miss' });
  expect(await asOf('slope')).toBe('2026-11-23T00:00:00Z');
  expect(before < '2026-11-23T00:00:00Z').toBe(true);
  expect(taken()).toEqual({ dam: 'hit', slope: 'hit' });
  // What came bit by bit and what comes at once make the same store.
  expect(taken(await another('third machine'), shared())).toEqual({ dam: 'hit', slope: 'hit' });
});

test('a delivery that is moved away after it was taken in does not bring the site of before back', async () => {
  await rename(join(works, 'projects/slope/positions/late.csv'), join(folder, 'late.csv'));
  ingest();
  expect(taken()).toEqual({ dam: 'hit', slope: 'miss' });
  expect(await asOf('slope')).toBe('2026-11-23T00:00:00Z');
});

test('a changed project file computes its project; the one of before brings its site back, and nothing of the other stays', async () => {
  const file = join(works, 'projects/dam/project.yaml');
  const before = await readFile(file, 'utf8');
  const site = await manifest(works, 'dam');
  // With a trigger, the site has files that it had not.
  await writeFile(
    file,
    `${before}\ntriggers:\n  - { name: down, quantity: up, levels: [{ name: attention, at: 15 mm, responsible: measurement }] }\n`,
  );
  expect(taken()).toEqual({ dam: 'miss', slope: 'hit' });
  expect(await readdir(join(works, 'projects/dam/site'))).toContain('log.atom');
  await writeFile(file, before);
  expect(taken()).toEqual({ dam: 'hit', slope: 'hit' });
  expect(await manifest(works, 'dam')).toBe(site);
  await verified('dam');
});

test('another version of the command computes everything', async () => {
  const lock = join(works, 'package-lock.json');
  const before = await readFile(lock, 'utf8');
  await writeFile(lock, before.replace('"requires"', '"version": "1.0.0", "requires"'));
  expect(taken()).toEqual({ dam: 'miss', slope: 'miss' });
});

test('the steps after a processing run: a project that fails stops no other, what is published is whole, and the overview leads to what is newest', async () => {
  const steps = block('bash', 'npm run publish');
  expect(run(`set -e\n${steps}`)).toMatchObject({ status: 0 });
  const file = join(works, 'projects/dam/project.yaml');
  const before = await readFile(file, 'utf8');
  await writeFile(file, before.replace('stillmark: 1', 'stillmark: 9'));
  const slope = join(works, 'projects/slope/project.yaml');
  await writeFile(slope, (await readFile(slope, 'utf8')).replace('purpose: ', 'purpose: Told otherwise. '));
  expect(run('npm run publish').status).not.toBe(0);
  const versions = async (name: string): Promise<number> =>
    (await readdir(join(works, 'public', name, 'versions'))).filter((v) => v.includes('Z-')).length;
  expect([await versions('dam'), await versions('slope')]).toEqual([1, 2]);
  await writeFile(file, before);
  for (const name of ['dam', 'slope'])
    expect(await stillmark(['verify', join(works, 'public', name, 'latest/')])).toMatchObject({ code: 0 });
  const overview = await readFile(join(works, 'public/overview/index.html'), 'utf8');
  expect(overview).toContain('href="../dam/latest/index.html"');
  expect(overview).toContain('href="../slope/latest/index.html"');
});

test('a link that would not be seen is told of, and folders that cannot be told apart are refused', async () => {
  const place = join(folder, 'odd');
  const project = join(place, 'projects/Moor 1');
  await mkdir(project, { recursive: true });
  const yaml = await readFile(join(works, 'projects/dam/project.yaml'), 'utf8');
  await writeFile(join(folder, 'plan.geojson'), '{}');
  await symlink(join(folder, 'plan.geojson'), join(project, 'plan.geojson'));
  await writeFile(join(project, 'project.yaml'), `${yaml}\noutline: plan.geojson\n`);
  const { code, out, err } = await stillmark(['workspaces', place]);
  expect({ code, last: out.trimEnd().split('\n').at(-1) }).toEqual({ code: 0, last: '1 project: moor-1' });
  expect(err).toContain('projects/Moor 1/plan.geojson warning INPUT_PLACE');
  await cp(project, join(place, 'projects/moor-1'), { recursive: true });
  expect((await stillmark(['workspaces', place])).err).toContain('would both be called moor-1');
  await writeFile(join(project, 'project.yaml'), 'stillmark: 1\n');
  await rm(join(place, 'projects/moor-1'), { recursive: true });
  expect((await stillmark(['workspaces', place])).err).toMatch(/^projects\/Moor 1\/project.yaml/);
  expect((await stillmark(['workspaces', join(place, 'projects')])).code).toBe(2);
});
