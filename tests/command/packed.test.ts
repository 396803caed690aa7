import { execFile } from 'node:child_process';
import { chmod, mkdir, mkdtemp, readdir, readFile, rm, stat, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { delimiter, dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import { writeHarrowfold } from '@stillmark/data/harrowfold-slope/write.ts';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { stillmark, type RunOptions } from '../support/command.ts';

const execute = promisify(execFile);
const cli = fileURLToPath(new URL('../../apps/cli/', import.meta.url));
const { version } = JSON.parse(await readFile(join(cli, 'package.json'), 'utf8')) as { version: string };
const tools = fileURLToPath(new URL('../../node_modules/.bin', import.meta.url));

let folder: string;
let install: string;
let asUser: RunOptions;

/** Everything below a folder loses its write bits, folders included. */
async function makeReadOnly(path: string): Promise<void> {
  for (const entry of await readdir(path, { recursive: true, withFileTypes: true })) {
    if (!entry.isSymbolicLink())
      await chmod(
        join(entry.parentPath, entry.name),
        (await stat(join(entry.parentPath, entry.name))).mode & 0o555,
      );
  }
  await chmod(path, 0o555);
}

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-packed-'));
  await chmod(folder, 0o755);
  install = join(folder, 'install');
  await mkdir(install);
  const { stdout } = await execute('npm', ['pack', '--silent', '--pack-destination', folder], { cwd: cli });
  await writeFile(join(install, 'package.json'), '{ "private": true }\n');
  await execute(
    'npm',
    [
      'install',
      '--prefer-offline',
      '--no-audit',
      '--no-fund',
      '--loglevel=error',
      join(folder, stdout.trim()),
    ],
    { cwd: install },
  );
  await makeReadOnly(install);
  // An unprivileged user with a home that cannot be written; only the work folder can.
  const home = join(folder, 'home');
  const work = join(folder, 'work');
  await mkdir(home, { mode: 0o555 });
  await mkdir(work, { mode: 0o777 });
  await chmod(work, 0o777);
  await writeHarrowfold(join(work, 'project'));
  await execute('chmod', ['-R', 'a+rwX', work]);
  const nobody = process.getuid?.() === 0 ? { uid: 65_534, gid: 65_534 } : {};
  asUser = {
    cwd: install,
    env: { HOME: home, npm_config_cache: join(work, 'npm'), npm_config_update_notifier: 'false' },
    ...nobody,
  };
}, 300_000);

afterAll(async () => {
  await execute('chmod', ['-R', 'u+w', folder]);
  await rm(folder, { recursive: true, force: true });
});

describe('the packed command, outside the repository', () => {
  test('holds no source, no test and no folder of the machine it was built on', async () => {
    const files = await readdir(join(install, 'node_modules/stillmark'), { recursive: true });
    expect(files.filter((f) => f.endsWith('.ts'))).toEqual([]);
    // Who is given the package alone has the terms of all that is in it.
    for (const name of ['LICENSE', 'README.md', 'dist/licences.md', 'dist/renderer/server/licences.md'])
      expect(files).toContain(name);
    expect(await readFile(join(install, 'node_modules/stillmark/dist/licences.md'), 'utf8')).toMatch(
      /^## commander - [^]*^## zod - /m,
    );
    const { stdout } = await execute('grep', [
      '-rl',
      fileURLToPath(new URL('../../', import.meta.url)),
      join(install, 'node_modules/stillmark'),
    ]).catch(() => ({ stdout: '' }));
    expect(stdout).toBe('');
  });

  test('runs the main job with npx, by an unprivileged user, on a read-only install', async () => {
    const project = join(folder, 'work/project');
    const site = join(folder, 'work/site');
    const npx = (args: readonly string[]) =>
      stillmark(args, { ...asUser, program: ['npx', '--no', '--', 'stillmark'] });
    expect(await npx(['--version'])).toMatchObject({ code: 0, out: `${version}\n` });
    expect((await npx(['check', project])).err).toBe('');
    expect((await npx(['ingest', project])).code).toBe(0);
    const dates = ['--from', '2026-09-14', '--to', '2026-10-12', '--by', 'survey office'];
    expect((await npx(['commit', project, 'B2', 'S2', ...dates])).code).toBe(0);
    const stated = await npx(['snapshot', project, '--out', site]);
    expect(stated).toMatchObject({ code: 0, err: '' });
    expect(stated.out).toMatch(/^S2 has moved\./);
    expect(await npx(['verify', site])).toMatchObject({ code: 0, out: '47 files as they were written\n' });
  });

  test('runs on the Node of the machine too, where that is another one', async () => {
    const folders = (process.env['PATH'] ?? '')
      .split(delimiter)
      .filter((f) => f !== dirname(process.execPath) && !f.startsWith(dirname(tools)));
    const { code, out, err } = await stillmark(['--version'], {
      program: ['node', join(install, 'node_modules/stillmark/dist/stillmark.js')],
      env: { PATH: folders.join(delimiter) },
    });
    expect({ code, out, err }).toEqual({ code: 0, out: `${version}\n`, err: '' });
  });
});
