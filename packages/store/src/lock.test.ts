import { mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { hostname, tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { withLock } from './lock.ts';

let folder: string;
let path: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-lock-'));
  path = join(folder, 'lock');
});
afterEach(() => rm(folder, { recursive: true, force: true }));

const take = (): Promise<string> => withLock(path, 'store', () => readFile(path, 'utf8'));

test('a lock is held by one, also within a process, and is gone afterwards', async () => {
  await withLock(path, 'store', async () => {
    await expect(take()).rejects.toThrow(/another command \(process \d+ on .*\) is writing to this store/);
  });
  expect(await take()).toBe(`${process.pid} ${hostname()}\n`);
  expect(await readdir(folder)).toEqual([]);
});

test.each([
  ['of a process that is no more', `999999999 ${hostname()}\n`],
  ['of a process before us that had our number', `${process.pid} ${hostname()}\n`],
  ['of a command that was stopped before it wrote its name', ''],
])('a lock %s is taken over', async (_, left) => {
  await writeFile(path, left);
  expect(await take()).toBe(`${process.pid} ${hostname()}\n`);
});

test.each([
  ['of a process that lives', `${process.ppid} ${hostname()}\n`],
  ['of another machine', '999999999 elsewhere\n'],
])('a lock %s is not', async (_, left) => {
  await writeFile(path, left);
  await expect(take()).rejects.toThrow(/is writing to this store/);
  expect(await readFile(path, 'utf8')).toBe(left);
});
