import { spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import {
  appendFile,
  chmod,
  cp,
  lstat,
  mkdir,
  mkdtemp,
  readdir,
  readFile,
  rename,
  rm,
  symlink,
  utimes,
  writeFile,
} from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { source } from '@stillmark/data/synthetic/noise.ts';
import { nodeFiles, restore, verify, type Effects, type Files } from '@stillmark/pipeline';
import { ProblemError } from '@stillmark/problems';
import { parse } from 'csv-parse/sync';
import { afterEach, beforeEach, describe, expect, inject, test } from 'vitest';
import { launch } from '../support/browser.ts';
import { built, mustRun, stillmark, type Ended } from '../support/command.ts';

const [demoProject, demoSite] = [inject('demoProject'), inject('demoSite')];
let folder: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-archive-'));
});
afterEach(() => rm(folder, { recursive: true, force: true }));

const hashOf = async (path: string): Promise<string> =>
  createHash('sha256')
    .update(await readFile(path))
    .digest('hex');

/** Hashes of all files below a folder. */
async function hashes(top: string): Promise<Record<string, string>> {
  const entries = await readdir(top, { recursive: true, withFileTypes: true });
  const files = entries.filter((e) => e.isFile()).map((e) => join(e.parentPath, e.name));
  const pairs = files.sort().map(async (file) => [file.slice(top.length + 1), await hashOf(file)] as const);
  return Object.fromEntries(await Promise.all(pairs));
}

const archive = (out: string, ...more: string[]): Promise<Ended> =>
  stillmark(['archive', demoProject, '--site', demoSite, '--out', out, ...more]);

/** A copy of the demo project that may be changed. */
async function ownProject(): Promise<string> {
  const project = join(folder, 'own');
  await cp(demoProject, project, { recursive: true });
  return project;
}

describe.each(['zip', 'tar'])('there and back by %s', (form) => {
  test('the site comes back to the byte, and computed again from the project that came back', async () => {
    const file = join(folder, `slope.${form}`);
    const made = await archive(file, '--json');
    expect(made).toMatchObject({ code: 0, err: '' });
    const told = JSON.parse(made.out) as { sha256: string; delivered: number };
    expect(told).toMatchObject({ sha256: await hashOf(file), delivered: 3, leftOut: [] });
    const out = join(folder, 'back');
    const back = await mustRun(['restore', file, '--out', out]);
    expect(back.out).toContain('Every hash is right.');
    expect((await readdir(out)).sort()).toEqual(['project', 'site']);
    expect(await hashes(join(out, 'site'))).toEqual(await hashes(demoSite));
    expect(Object.keys(await hashes(join(out, 'project')))).toEqual(
      Object.keys(await hashes(demoProject)).filter((path) => !path.startsWith('store/')),
    );
    await mustRun(['ingest', join(out, 'project')]);
    await mustRun(['snapshot', join(out, 'project'), '--out', join(folder, 'again')]);
    expect(await hashes(join(folder, 'again'))).toEqual(await hashes(demoSite));
    // And the archive of what came back is the archive.
    await rename(file, join(folder, 'first'));
    await mustRun(['archive', join(out, 'project'), '--site', join(out, 'site'), '--out', file]);
    expect(await hashOf(file)).toBe(told.sha256);
  });
});

test('the site that came back opens from its folder, without a server', async () => {
  await archive(join(folder, 'slope.zip'));
  await mustRun(['restore', join(folder, 'slope.zip'), '--out', join(folder, 'back')]);
  const browser = await launch();
  try {
    const page = await browser.newPage();
    const trouble: string[] = [];
    page.on('pageerror', ({ message }) => trouble.push(message));
    page.on('requestfailed', (request) => trouble.push(request.url()));
    await page.goto(pathToFileURL(join(folder, 'back/site/index.html')).href);
    expect(await page.textContent('h1')).not.toBe('');
    expect(await page.textContent('main')).toContain('S2 has moved.');
    expect(trouble).toEqual([]);
  } finally {
    await browser.close();
  }
});

test('another folder, zone, locale, umask, rights and times of files give the same bytes', async () => {
  const other = join(folder, 'Übung 2');
  await mkdir(other);
  for (const [from, to] of [
    [demoProject, 'p'],
    [demoSite, 's'],
  ] as const) {
    await cp(from, join(other, to), { recursive: true });
    for (const entry of await readdir(join(other, to), { recursive: true, withFileTypes: true })) {
      const path = join(entry.parentPath, entry.name);
      await utimes(path, 1e9 + path.length, 1e9 + path.length);
      await chmod(path, entry.isDirectory() ? 0o700 : 0o600);
    }
  }
  for (const form of ['zip', 'tar']) {
    const [here, there] = [join(folder, `x.${form}`), join(other, `x.${form}`)];
    await archive(here);
    const script = 'umask 077; exec "$0" "$@"';
    const args = ['archive', join(other, 'p'), '--site', join(other, 's'), '--out', there];
    await mustRun([], {
      program: ['bash', '-c', script, process.execPath, built, ...args],
      env: { TZ: 'Pacific/Chatham', LANG: 'tr_TR.UTF-8', LC_ALL: 'tr_TR.UTF-8' },
    });
    expect(await hashOf(there)).toBe(await hashOf(here));
  }
});

test('hashes of delivered files in place of them, and the store beside', async () => {
  const file = join(folder, 'slope.zip');
  const made = await archive(file, '--inputs', 'hashes', '--store');
  expect(made).toMatchObject({ code: 0, err: '' });
  expect(made.out).toContain('Of 3 delivered files it holds path, size and hash alone');
  await mustRun(['restore', file, '--out', join(folder, 'back')]);
  const own = await hashes(join(folder, 'back/project'));
  expect(Object.keys(own).some((path) => path.startsWith('positions/'))).toBe(false);
  expect(Object.keys(own).some((path) => path.startsWith('store/computed/'))).toBe(false);
  const there = await hashes(demoProject);
  for (const [path, hash] of Object.entries(own)) expect(hash, path).toBe(there[path]);
  const list = parse<Record<string, string>>(await readFile(join(folder, 'back/inputs.csv')), {
    columns: true,
  });
  expect(list.map(({ path, sha256 }) => [path, sha256])).toEqual(
    Object.entries(there).filter(([path]) => path.startsWith('positions/')),
  );
  // The store alone is enough for the site.
  await mustRun(['snapshot', join(folder, 'back/project'), '--out', join(folder, 'again')]);
  expect(await hashes(join(folder, 'again'))).toEqual(await hashes(demoSite));
});

describe('what is not archived, and nothing is written then', () => {
  const out = (): string => join(folder, 'x.zip');
  const refused = async (project: string, site: string, ...more: string[]): Promise<string> => {
    const { code, err } = await stillmark(['archive', project, '--site', site, '--out', out(), ...more]);
    expect(code).not.toBe(0);
    expect((await readdir(folder)).filter((name) => name.includes('x.zip'))).toEqual([]);
    return err;
  };

  test('a site that is not whole', async () => {
    const site = join(folder, 'site');
    await cp(demoSite, site, { recursive: true });
    await appendFile(join(site, 'index.html'), ' ');
    await writeFile(join(site, 'notes.txt'), 'by hand');
    const err = await refused(demoProject, site);
    expect(err).toContain('index.html error SNAPSHOT_FILE');
    expect(err).toContain('notes.txt error SNAPSHOT_FILE\n  the file was added');
  });

  test('a site of another project', async () => {
    expect(await refused(demoProject, inject('larkmoorSite'))).toMatch(
      /ARCHIVE_SITE\n {2}the site is that of 'Larkmoor dam', and the project is 'Harrowfold slope'/,
    );
  });

  test('a site of the project as it was: other settings, other commitments, other epochs', async () => {
    const project = await ownProject();
    await appendFile(join(project, 'project.yaml'), '\n# a word more\n');
    await rm(join(project, 'reference-positions.yaml'));
    await rm(join(project, 'store/epochs/month=2026-11'), { recursive: true });
    const err = await refused(project, demoSite);
    expect(err).toContain('project.yaml error ARCHIVE_SITE\n  the file is not that from which');
    expect(err).toContain(
      'reference-positions.yaml error ARCHIVE_SITE\n  the site was computed from this file',
    );
    expect(err).toContain(
      'month=2026-11/epochs.parquet error ARCHIVE_SITE\n  the site was computed from this',
    );
    await cp(demoProject, project, { recursive: true });
    await cp(join(project, 'store/epochs/month=2026-11'), join(project, 'store/epochs/month=2026-12'), {
      recursive: true,
    });
    expect(await refused(project, demoSite)).toContain('the site was computed without this file');
  });

  test('a store that the files at hand do not give, but with --store', async () => {
    const project = await ownProject();
    await rm(join(project, 'positions/2026-09.csv'));
    const err = await refused(project, demoSite);
    expect(err).toMatch(
      /store error ARCHIVE_INPUTS\n {2}the store holds \d+ positions, and the delivered files/,
    );
    expect(err).toContain('positions/2026-09.csv warning ARCHIVE_INPUTS');
    await mustRun(['archive', project, '--site', demoSite, '--out', out(), '--store']);
  });

  test('links that lead out, an archive in the site or among delivered files, a name that is none, what stands there', async () => {
    const project = await ownProject();
    await symlink(join(folder, 'own/project.yaml'), join(project, 'positions/inside.csv'));
    await writeFile(join(folder, 'secret.csv'), 'x');
    await symlink(join(folder, 'secret.csv'), join(project, 'positions/secret.csv'));
    expect(await refused(project, demoSite)).toContain('positions/secret.csv error INPUT_PLACE');
    const site = join(folder, 'site');
    await cp(demoSite, site, { recursive: true });
    const to = async (place: string): Promise<string> =>
      (await stillmark(['archive', demoProject, '--site', site, '--out', place])).err;
    expect(await to(join(site, 'x.zip'))).toContain('would lie in the site');
    expect(await to(join(demoProject, 'store/x.zip'))).toContain(
      'would lie where the project keeps other files',
    );
    expect(await to(join(folder, 'x.rar'))).toContain('x.rar is no name of an archive');
    expect(await to(join(folder, 'none/x.zip'))).toContain('does not exist');
    await writeFile(join(folder, 'mine.zip'), 'mine');
    expect(await to(join(folder, 'mine.zip'))).toContain('something stands there already');
    expect(await readFile(join(folder, 'mine.zip'), 'utf8')).toBe('mine');
    expect(await readdir(demoSite)).toEqual(await readdir(site));
  });

  test('onto a disk that is full', async () => {
    const script = `trap '' XFSZ; ulimit -f 100; exec "$0" "$@"`;
    const args = ['archive', demoProject, '--site', demoSite, '--out', join(folder, 'x.tar')];
    const full = await stillmark([], { program: ['bash', '-c', script, process.execPath, built, ...args] });
    expect(full).toMatchObject({ code: 1, out: '' });
    expect(full.err).toContain('the disk says no');
    expect(await readdir(folder)).toEqual([]);
  });
});

test('what has not been ingested is told, and what the project does not name', async () => {
  const project = await ownProject();
  await writeFile(
    join(project, 'positions/2026-12.csv'),
    await readFile(join(project, 'positions/2026-11.csv')),
  );
  await writeFile(join(project, 'letter.txt'), 'Dear Sir');
  await writeFile(join(project, '.hidden'), 'of the system');
  const made = await stillmark(['archive', project, '--site', demoSite, '--out', join(folder, 'x.tar')]);
  expect(made.code).toBe(0);
  expect(made.err).toContain(
    'positions/2026-12.csv warning ARCHIVE_INPUTS\n  the file has not been ingested',
  );
  expect(made.out).toContain('Not in it, since project.yaml does not name them: letter.txt.');
});

test('a file under another name is the same delivery; a link that is allowed is archived as the file', async () => {
  const project = await ownProject();
  const elsewhere = join(folder, 'incoming');
  await mkdir(elsewhere);
  await rename(join(project, 'positions/2026-09.csv'), join(elsewhere, 'september.csv'));
  await symlink(join(elsewhere, 'september.csv'), join(project, 'positions/renamed.csv'));
  await appendFile(join(project, 'project.yaml'), '\noutside: [../incoming]\n');
  await mustRun(['ingest', project]);
  await mustRun(['snapshot', project, '--out', join(folder, 'site')]);
  const file = join(folder, 'x.tar');
  expect(await mustRun(['archive', project, '--site', join(folder, 'site'), '--out', file])).toMatchObject({
    err: '',
  });
  await rm(elsewhere, { recursive: true });
  await mustRun(['restore', file, '--out', join(folder, 'back')]);
  const back = join(folder, 'back/project/positions/renamed.csv');
  expect((await lstat(back)).isFile()).toBe(true);
  expect(await hashOf(back)).toBe(await hashOf(join(demoProject, 'positions/2026-09.csv')));
});

describe('a restore', () => {
  const whole = async (): Promise<string> => {
    await archive(join(folder, 'x.tar'));
    return join(folder, 'x.tar');
  };

  test('of a changed archive writes nothing and says what is changed', async () => {
    const file = await whole();
    const bytes = await readFile(file);
    bytes[bytes.lastIndexOf('</html>')]! ^= 1;
    await writeFile(file, bytes);
    const { code, err } = await stillmark(['restore', file, '--out', join(folder, 'back')]);
    expect(code).toBe(1);
    expect(err).toMatch(/data\/site\/\S+\.html error ARCHIVE_FILE\n {2}the file is changed/);
    expect(await readdir(folder)).toEqual(['x.tar']);
    expect(await stillmark(['verify', file])).toMatchObject({ code: 1, out: '' });
  });

  test('that is killed at any moment leaves all or nothing, and the next one does not mind', async () => {
    const file = await whole();
    const out = join(folder, 'back');
    for (let ms = 200; ms <= 700; ms += 100) {
      const child = spawn(process.execPath, [built, 'restore', file, '--out', out], { stdio: 'ignore' });
      const timer = setTimeout(() => child.kill('SIGKILL'), ms);
      await new Promise((resolve) => child.on('close', resolve));
      clearTimeout(timer);
      if ((await readdir(folder)).includes('back'))
        expect(await hashes(join(out, 'site'))).toEqual(await hashes(demoSite));
      await rm(out, { recursive: true, force: true });
    }
    await mustRun(['restore', file, '--out', out]);
    expect((await readdir(folder)).sort()).toEqual(['back', 'x.tar']);
  });

  test('onto a full disk leaves nothing', async () => {
    const file = await whole();
    const script = `trap '' XFSZ; ulimit -f 100; exec "$0" "$@"`;
    const args = ['restore', file, '--out', join(folder, 'back')];
    const full = await stillmark([], { program: ['bash', '-c', script, process.execPath, built, ...args] });
    expect(full.err).toContain('the disk says no');
    expect(await readdir(folder)).toEqual(['x.tar']);
  });
});

describe('a thousand bytes that flip', () => {
  /** The disk, but that some files are in memory, where a bit can be turned and turned back. */
  async function inMemory(
    paths: readonly string[],
  ): Promise<{ bytes: Map<string, Uint8Array>; files: Files }> {
    const bytes = new Map<string, Uint8Array>();
    for (const path of paths) bytes.set(path, await readFile(path));
    const files: Files = {
      ...nodeFiles,
      read: (path) => (bytes.has(path) ? Promise.resolve(bytes.get(path)) : nodeFiles.read(path)),
      async *stream(path, range) {
        const own = bytes.get(path);
        if (own) yield range ? own.subarray(range.from, range.to) : own;
        else yield* nodeFiles.stream(path, range);
      },
    };
    return { bytes, files };
  }
  const random = source(20);
  const effectsOf = (files: Files): Effects => ({ files, progress: () => {}, nowMs: () => 0 });

  async function isFound(checked: string, files: Files): Promise<boolean> {
    try {
      return (await verify(checked, effectsOf(files))).problems.length > 0;
    } catch (error) {
      if (error instanceof ProblemError) return true;
      throw error;
    }
  }

  test('in a snapshot folder: verify finds each', async () => {
    const entries = await readdir(demoSite, { recursive: true, withFileTypes: true });
    const paths = entries.filter((f) => f.isFile()).map((f) => join(f.parentPath, f.name));
    const { bytes, files } = await inMemory(paths);
    expect(await isFound(demoSite, files)).toBe(false);
    const missed: string[] = [];
    for (let i = 0; i < 500; i++) {
      const path = paths[Math.floor(random.uniform() * paths.length)]!;
      const own = bytes.get(path)!;
      const at = Math.floor(random.uniform() * own.length);
      own[at]! ^= 1 << (i % 8);
      if (!(await isFound(demoSite, files))) missed.push(`${path} at ${at}`);
      own[at]! ^= 1 << (i % 8);
    }
    expect(missed).toEqual([]);
  });

  test.each([
    ['zip', 150],
    ['tar', 350],
  ] as const)('in a %s file: found, or nothing that comes out of it is another', async (form, n) => {
    const file = join(folder, `x.${form}`);
    await archive(file);
    const { bytes, files } = await inMemory([file]);
    const own = bytes.get(file)!;
    expect(await isFound(file, files)).toBe(false);
    const project = await hashes(demoProject);
    let harmless = 0;
    for (let i = 0; i < n; i++) {
      const at = Math.floor(random.uniform() * own.length);
      own[at]! ^= 1 << (i % 8);
      if (!(await isFound(file, files))) {
        // A time of an entry, or what fills a block after a file.
        harmless++;
        const out = join(folder, 'back');
        await restore(file, out, effectsOf(files));
        expect(await hashes(join(out, 'site'))).toEqual(await hashes(demoSite));
        expect(project).toMatchObject(await hashes(join(out, 'project')));
        await rm(out, { recursive: true });
      }
      own[at]! ^= 1 << (i % 8);
    }
    expect(harmless).toBeLessThan(n / 10);
  });
});
