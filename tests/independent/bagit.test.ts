import { execFile } from 'node:child_process';
import { createHash } from 'node:crypto';
import { cp, mkdir, mkdtemp, readdir, readFile, rename, rm, stat } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { afterAll, beforeAll, describe, expect, inject, test } from 'vitest';
import { mustRun } from '../support/command.ts';

// An archive as any keeper of bags would judge it, by RFC 8493 alone: unpacked by the tar and unzip of the system, and by nothing of ours.

const execute = promisify(execFile);
const has = (program: string, ...args: string[]): Promise<boolean> =>
  execute(program, args).then(
    () => true,
    () => false,
  );

/** A name with each character that a manifest encodes (2.1.3), and some that it must not. */
const oddName = 'odd 50% of\r\nAugust, Übung (1) %0A.csv';

let folder: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-bagit-'));
  const project = join(folder, 'project');
  await cp(inject('demoProject'), project, { recursive: true });
  await rename(join(project, 'positions/2026-09.csv'), join(project, 'positions', oddName));
  await mustRun(['ingest', project]);
  const site = join(folder, 'site');
  await mustRun(['snapshot', project, '--out', site]);
  for (const form of ['tar', 'zip'])
    await mustRun(['archive', project, '--site', site, '--out', join(folder, `bag.${form}`)]);
});
afterAll(() => rm(folder, { recursive: true, force: true }));

const unpackers = [
  ['tar', 'tar', (file: string, to: string) => ['-xf', file, '-C', to]],
  ['zip', 'unzip', (file: string, to: string) => ['-q', '-^', file, '-d', to]],
] as const;

describe.each(unpackers)('the %s file', (form, program, argsOf) => {
  let bag: string;
  let [top, others]: [string[], string[]] = [[], []];
  let files: Map<string, Buffer>;
  let skipped: string | undefined;

  beforeAll(async () => {
    if (!(await has(program, form === 'tar' ? '--version' : '-v'))) {
      skipped = `${program} is not installed`;
      return;
    }
    const to = join(folder, `out-${form}`);
    await mkdir(to);
    await execute(program, argsOf(join(folder, `bag.${form}`), to));
    top = await readdir(to);
    bag = join(to, 'bag');
    const entries = await readdir(bag, { recursive: true, withFileTypes: true });
    others = entries.filter((e) => !e.isFile() && !e.isDirectory()).map(({ name }) => name);
    files = new Map();
    for (const entry of entries.filter((e) => e.isFile())) {
      const path = join(entry.parentPath, entry.name);
      files.set(path.slice(bag.length + 1), await readFile(path));
    }
  });

  const text = (name: string): string => files.get(name)!.toString('utf8');
  const isPayload = (path: string): boolean => path.startsWith('data/');
  const sha256 = (path: string): string => createHash('sha256').update(files.get(path)!).digest('hex');

  /** 2.1.3: hash, white space, path; CR, LF and % of a path are encoded, and only those. */
  function manifest(name: string): Map<string, string> {
    const lines = text(name).split('\n');
    expect(lines.pop()).toBe('');
    const pairs = lines.map((line): [string, string] => {
      const [, hash, path] = /^([0-9a-f]{64})[ \t]+(\S.*)$/u.exec(line) ?? [];
      expect(path, line).toBeDefined();
      expect(path!.match(/%(?!0A|0D|25)/g), line).toBeNull();
      return [path!.replaceAll('%0A', '\n').replaceAll('%0D', '\r').replaceAll('%25', '%'), hash!];
    });
    expect(new Set(pairs.map(([path]) => path)).size, 'each path once').toBe(pairs.length);
    expect(pairs.map(([path]) => path).filter((path) => /^\/|(^|\/)\.\.(\/|$)|^~/.test(path))).toEqual([]);
    return new Map(pairs);
  }

  test('one folder with the name of the file comes out of it, and in that nothing but files and folders', (context) => {
    if (skipped !== undefined) return context.skip(skipped);
    expect(top).toEqual(['bag']);
    expect(others).toEqual([]);
  });

  test('2.1.1: bagit.txt is two lines in UTF-8 without a byte order mark', (context) => {
    if (skipped !== undefined) return context.skip(skipped);
    expect(files.get('bagit.txt')).toEqual(
      Buffer.from('BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n', 'ascii'),
    );
  });

  test('2.1.2, 3: the payload lies below data, and the bag is complete: nothing is fetched', async (context) => {
    if (skipped !== undefined) return context.skip(skipped);
    expect((await stat(join(bag, 'data'))).isDirectory()).toBe(true);
    expect([...files.keys()].filter(isPayload).length).toBeGreaterThan(30);
    expect(files.has('fetch.txt')).toBe(false);
  });

  test('2.1.3, 3: the payload manifest lists every file of the payload with its hash, and no other', (context) => {
    if (skipped !== undefined) return context.skip(skipped);
    const listed = manifest('manifest-sha256.txt');
    expect([...listed.keys()].sort()).toEqual([...files.keys()].filter(isPayload).sort());
    for (const [path, hash] of listed) expect(sha256(path), path).toBe(hash);
    expect([...files.keys()].filter((name) => name.startsWith('manifest-'))).toEqual(['manifest-sha256.txt']);
    expect(text('manifest-sha256.txt')).toContain(
      '  data/project/positions/odd 50%25 of%0D%0AAugust, Übung (1) %250A.csv\n',
    );
  });

  test('2.2.1: the tag manifest lists every other file but itself', (context) => {
    if (skipped !== undefined) return context.skip(skipped);
    const listed = manifest('tagmanifest-sha256.txt');
    const tags = [...files.keys()].filter((path) => !isPayload(path) && !path.startsWith('tagmanifest-'));
    expect([...listed.keys()].sort()).toEqual(tags.sort());
    expect(tags).toContain('manifest-sha256.txt');
    for (const [path, hash] of listed) expect(sha256(path), path).toBe(hash);
  });

  test('2.2.2: bag-info.txt has a date, and the bytes and files of the payload, each once', (context) => {
    if (skipped !== undefined) return context.skip(skipped);
    const elements = text('bag-info.txt')
      .trimEnd()
      .split('\n')
      .map((line) => /^([^\s:][^:]*): (.*)$/u.exec(line)!.slice(1) as [string, string]);
    const values = (label: string): string[] =>
      elements.filter(([l]) => l.toLowerCase() === label).map(([, value]) => value);
    const payload = [...files].filter(([path]) => isPayload(path));
    const bytes = payload.reduce((sum, [, content]) => sum + content.length, 0);
    expect(values('payload-oxum')).toEqual([`${bytes}.${payload.length}`]);
    const snapshot = JSON.parse(text('data/site/snapshot.json')) as { asOf: string };
    expect(values('bagging-date')).toEqual([snapshot.asOf.slice(0, 10)]);
    expect(values('external-description')).toEqual(['Harrowfold slope']);
  });

  test('all tag files are UTF-8 without a byte order mark', (context) => {
    if (skipped !== undefined) return context.skip(skipped);
    for (const [path, content] of files) {
      if (isPayload(path)) continue;
      expect(content.subarray(0, 3).toString('hex'), path).not.toBe('efbbbf');
      expect(() => new TextDecoder('utf-8', { fatal: true }).decode(content), path).not.toThrow();
    }
  });

  test('the library bagit of Python finds it valid, where it is installed', async (context) => {
    if (skipped !== undefined) return context.skip(skipped);
    if (!(await has('python3', '-c', 'import bagit')))
      return context.skip(
        'python3 with the package bagit (pip, or python3-bagit of Debian) is not installed',
      );
    const script = 'import bagit, sys; bagit.Bag(sys.argv[1]).validate()';
    expect(await execute('python3', ['-c', script, bag])).toBeDefined();
  });
});

test('entries of both stand in the order of their paths, with one time and the same rights', async (context) => {
  if (!(await has('unzip', '-v'))) return context.skip('unzip is not installed');
  const tar = await execute('tar', ['-tvf', join(folder, 'bag.tar')], { env: { TZ: 'UTC' } });
  const lines = tar.stdout.trimEnd().split('\n');
  expect(new Set(lines.map((line) => line.split(/\s+/).slice(0, 2).join(' ')))).toEqual(
    new Set(['-rw-r--r-- 0/0']),
  );
  expect(new Set(lines.map((line) => line.split(/\s+/).slice(3, 5).join(' ')))).toEqual(
    new Set(['1980-01-01 00:00']),
  );
  const names = (await execute('unzip', ['-Z1', join(folder, 'bag.zip')])).stdout.trimEnd().split('\n');
  const plain = names.filter((name) => /^[\x20-\x7e]+$/.test(name) && name.startsWith('bag/'));
  expect(plain).toEqual(plain.toSorted());
  expect((await execute('unzip', ['-tq', join(folder, 'bag.zip')])).stdout).toContain('No errors detected');
});
