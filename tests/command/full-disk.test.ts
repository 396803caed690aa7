import { spawn } from 'node:child_process';
import { chmod, cp, mkdtemp, readdir, readFile, rm, symlink } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { writeHarrowfold } from '@stillmark/data/harrowfold-slope/write.ts';
import { afterEach, beforeEach, expect, inject, test } from 'vitest';
import { built, mustRun, stillmark, type Ended } from '../support/command.ts';

let folder: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-full-'));
});
afterEach(() => rm(folder, { recursive: true, force: true }));

/** Runs the command where no file may be longer than some blocks of 512 bytes: what a disk says that is full. */
function withLimit(blocks: number, args: readonly string[]): Promise<Ended> {
  return new Promise((resolve) => {
    const script = `trap '' XFSZ; ulimit -f ${blocks}; exec "$0" "$@"`;
    const child = spawn('bash', ['-c', script, process.execPath, built, ...args], {
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    let [out, err] = ['', ''];
    child.stdout.setEncoding('utf8').on('data', (text: string) => (out += text));
    child.stderr.setEncoding('utf8').on('data', (text: string) => (err += text));
    child.on('close', (code) => resolve({ code, out, err }));
  });
}
const leftovers = async (): Promise<string[]> =>
  (await readdir(folder, { recursive: true })).filter((name) => /partial|lock|previous/.test(name));

test('an ingest onto a disk that is full says so, leaves nothing half written, and goes on when there is room', async () => {
  const project = join(folder, 'project');
  await writeHarrowfold(project);
  for (const blocks of [1, 20, 60]) {
    const full = await withLimit(blocks, ['ingest', project]);
    expect(full.code, full.err).toBe(1);
    expect(full.err).toMatch(/STORE_UNWRITABLE|the disk says no/);
    expect(await leftovers()).toEqual([]);
  }
  await mustRun(['ingest', project]);
  const month = 'store/epochs/month=2026-10/epochs.parquet';
  expect(await readFile(join(project, month), 'base64')).toBe(
    await readFile(join(inject('demoProject'), month), 'base64'),
  );
});

test('a snapshot onto a disk that is full leaves the old site whole and nothing beside it', async () => {
  const project = join(folder, 'project');
  await cp(inject('demoProject'), project, { recursive: true });
  const site = join(folder, 'site');
  await mustRun(['snapshot', project, '--out', site, '--as-of', '2026-11-01']);
  for (const blocks of [1, 40, 200]) {
    const full = await withLimit(blocks, ['snapshot', project, '--out', site]);
    expect(full).toMatchObject({ code: 1, out: '' });
    expect(full.err).toContain('the disk says no');
    expect(await stillmark(['verify', site])).toMatchObject({ code: 0, err: '' });
    expect(await leftovers()).toEqual([]);
  }
});

test('a project that may only be read gives its snapshot all the same, and its store is not written', async () => {
  if (process.getuid?.() !== 0) return;
  const project = join(folder, 'project');
  await cp(inject('demoProject'), project, { recursive: true });
  for (const path of await readdir(project, { recursive: true, withFileTypes: true }))
    await chmod(join(path.parentPath, path.name), path.isDirectory() ? 0o555 : 0o444);
  await chmod(project, 0o555);
  await chmod(folder, 0o777);
  const asUser = { uid: 12_345, gid: 12_345 };
  expect(await stillmark(['snapshot', project, '--out', join(folder, 'site')], asUser)).toMatchObject({
    code: 0,
    err: '',
  });
  await writeHarrowfold(join(folder, 'more'));
  const refused = await stillmark(['ingest', project], asUser);
  // Nothing is new: nothing has to be written, or the right to it is asked for.
  expect(refused.code === 0 || refused.err.includes('the disk says no')).toBe(true);
});

test('two snapshots to one place at once: one is written, the other is refused with a clear word, or comes after it', async () => {
  const site = join(folder, 'site');
  const all = await Promise.all(
    [1, 2, 3, 4].map(() => stillmark(['snapshot', inject('demoProject'), '--out', site])),
  );
  expect(all.some(({ code }) => code === 0)).toBe(true);
  for (const { code, err } of all)
    if (code !== 0)
      expect({ code, err }).toMatchObject({ code: 2, err: expect.stringContaining('USE_LOCKED') as string });
  expect(await stillmark(['verify', site])).toMatchObject({ code: 0, err: '' });
  expect(await leftovers()).toEqual([]);
});

test('a link to nothing is no place for a site', async () => {
  await symlink(join(folder, 'nowhere'), join(folder, 'link'));
  const { code, err } = await stillmark(['snapshot', inject('demoProject'), '--out', join(folder, 'link')]);
  expect(code).toBe(2);
  expect(err).toContain('a link that leads to nothing');
});
