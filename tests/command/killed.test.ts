import { spawn } from 'node:child_process';
import { cp, mkdtemp, readdir, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { writeHarrowfold } from '@stillmark/data/harrowfold-slope/write.ts';
import { afterEach, beforeEach, expect, inject, test } from 'vitest';
import { built, mustRun, stillmark } from '../support/command.ts';

let folder: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-killed-'));
});
afterEach(() => rm(folder, { recursive: true, force: true }));

/** Starts the command and kills it, without a chance to tidy up, after some milliseconds. */
function killAfter(ms: number, args: readonly string[]): Promise<void> {
  return new Promise((resolve) => {
    const child = spawn(process.execPath, [built, ...args], { stdio: 'ignore' });
    const timer = setTimeout(() => child.kill('SIGKILL'), ms);
    child.on('close', () => {
      clearTimeout(timer);
      resolve();
    });
  });
}

test('an ingest that is killed at any moment is completed by the next, to the same bytes', async () => {
  const project = join(folder, 'project');
  await writeHarrowfold(project);
  for (let ms = 150; ms <= 1150; ms += 100) await killAfter(ms, ['ingest', project]);
  await mustRun(['ingest', project]);
  await cp(
    join(inject('demoProject'), 'reference-positions.yaml'),
    join(project, 'reference-positions.yaml'),
  );
  await mustRun(['snapshot', project, '--out', join(folder, 'site')]);
  const [here, there] = await Promise.all(
    [join(folder, 'site'), inject('demoSite')].map((site) => mustRun(['verify', site, '--json'])),
  );
  expect(here!.out).toBe(there!.out);
  const left = (await readdir(project, { recursive: true })).filter((name) => /partial|lock/.test(name));
  expect(left).toEqual([]);
});

test('a snapshot that is killed at any moment leaves the old site or the new one, whole', async () => {
  const project = inject('demoProject');
  const site = join(folder, 'site');
  await mustRun(['snapshot', project, '--out', site, '--as-of', '2026-11-01']);
  for (let ms = 300; ms <= 1500; ms += 100) {
    await killAfter(ms, ['snapshot', project, '--out', site]);
    // Between the two renames the old site stands beside its place; nothing else may ever be seen.
    const place = (await readdir(folder)).includes('site') ? site : join(folder, '.site.stillmark-previous');
    expect(await stillmark(['verify', place]), `killed after ${ms} ms`).toMatchObject({ code: 0, err: '' });
  }
  await mustRun(['snapshot', project, '--out', site]);
  expect((await readdir(folder)).sort()).toEqual(['site']);
});
