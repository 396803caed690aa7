import { lstat, mkdtemp, readdir, readFile, rm, symlink, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { Effects, Files } from './effects.ts';
import { nodeFiles } from './node-files.ts';
import { putFolder } from './publish-folder.ts';
import { verify } from './verify.ts';

let folder: string;
let out: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-publish-'));
  out = join(folder, 'site');
});
afterEach(() => rm(folder, { recursive: true, force: true }));

const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);
const contents = (text: string): Map<string, Uint8Array> =>
  new Map(
    ['index.html', 'stations/S1.html', 'series/S1.parquet'].map((path) => [path, bytes(`${path} ${text}`)]),
  );
const effects: Effects = {
  files: nodeFiles,
  progress: () => {},
  nowMs: () => Date.parse('2026-12-01T00:00:00Z'),
};

/** A disk on which the n-th change fails, as a full disk or a pulled cable would. */
function failingAt(n: number): { files: Files; changes: () => number } {
  let changes = 0;
  const count = <A extends unknown[]>(work: (...args: A) => Promise<void>) => {
    return async (...args: A): Promise<void> => {
      if (changes++ === n)
        throw Object.assign(new Error('ENOSPC: no space left on device'), { code: 'ENOSPC' });
      await work(...args);
    };
  };
  const { write, rename, remove } = nodeFiles;
  return {
    files: { ...nodeFiles, write: count(write), rename: count(rename), remove: count(remove) },
    changes: () => changes,
  };
}

describe('a folder is put in place whole or not at all', () => {
  test('whatever change of the disk fails, the old or the new one stands whole, and the next run mends it', async () => {
    const whole = failingAt(Number.POSITIVE_INFINITY);
    await putFolder(out, contents('probe'), whole.files);
    const probe = failingAt(Number.POSITIVE_INFINITY);
    await putFolder(out, contents('old'), probe.files);
    const steps = probe.changes();
    expect(steps).toBeGreaterThan(7);
    for (let n = 0; n < steps; n++) {
      await putFolder(out, contents('old'), nodeFiles);
      await expect(putFolder(out, contents('new'), failingAt(n).files)).rejects.toThrow(/ENOSPC/);
      const place = (await nodeFiles.kind(out)) === 'folder' ? out : join(folder, '.site.stillmark-previous');
      expect((await verify(place, effects)).problems, `change ${n}`).toEqual([]);
      expect(await readFile(join(place, 'index.html'), 'utf8')).toMatch(/^index\.html (old|new)$/);
      await putFolder(out, contents('next'), nodeFiles);
      expect(await readFile(join(out, 'index.html'), 'utf8')).toBe('index.html next');
      expect(await readdir(folder)).toEqual(['site']);
    }
  });

  test('an empty folder may be filled; a folder with other files and a file may not be replaced', async () => {
    await nodeFiles.write(join(out, 'x'), 'x');
    await rm(join(out, 'x'));
    await putFolder(out, contents('new'), nodeFiles);
    const other = join(folder, 'other');
    await nodeFiles.write(join(other, 'thesis.docx'), 'years of work');
    await expect(putFolder(other, contents('new'), nodeFiles)).rejects.toThrow(/not a snapshot/);
    expect(await readFile(join(other, 'thesis.docx'), 'utf8')).toBe('years of work');
    const app = join(folder, 'app');
    await nodeFiles.write(join(app, 'manifest.json'), '{ "name": "some web app" }');
    await expect(putFolder(app, contents('new'), nodeFiles)).rejects.toThrow(/not a snapshot/);
    await nodeFiles.write(join(out, 'notes.txt'), 'put here by hand');
    await expect(putFolder(out, contents('newer'), nodeFiles)).rejects.toThrow(/also holds notes\.txt/);
    expect(await readFile(join(out, 'notes.txt'), 'utf8')).toBe('put here by hand');
    await expect(putFolder(join(folder, 'no/such/site'), contents('new'), nodeFiles)).rejects.toThrow(
      /does not exist/,
    );
    await writeFile(join(folder, 'file'), 'text');
    await expect(putFolder(join(folder, 'file'), contents('new'), nodeFiles)).rejects.toThrow(
      /not a snapshot/,
    );
  });
});

test('a link to a folder keeps standing, and what it leads to is replaced', async () => {
  await putFolder(out, contents('old'), nodeFiles);
  await symlink(out, join(folder, 'current'));
  await putFolder(join(folder, 'current'), contents('new'), nodeFiles);
  expect((await lstat(join(folder, 'current'))).isSymbolicLink()).toBe(true);
  expect(await readFile(join(out, 'index.html'), 'utf8')).toBe('index.html new');
});

test('verify finds a single changed bit', async () => {
  await putFolder(out, contents('whole'), nodeFiles);
  const path = join(out, 'series/S1.parquet');
  const changed = await readFile(path);
  changed[3]! ^= 1;
  await writeFile(path, changed);
  expect((await verify(out, effects)).problems.map((p) => `${p.at!.file}: ${p.message}`)).toEqual([
    'series/S1.parquet: the file is changed',
  ]);
});
