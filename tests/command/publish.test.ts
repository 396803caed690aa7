import { createHash } from 'node:crypto';
import {
  chmod,
  cp,
  lstat,
  mkdir,
  mkdtemp,
  readdir,
  readFile,
  readlink,
  rm,
  stat,
  symlink,
  writeFile,
} from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { source } from '@stillmark/data/synthetic/noise.ts';
import { nodeFiles, publish, verify, type Effects, type Files, type Renderer } from '@stillmark/pipeline';
import { serialiseManifest } from '@stillmark/snapshot';
import { afterAll, beforeAll, beforeEach, describe, expect, inject, test } from 'vitest';
import { mustRun, stillmark } from '../support/command.ts';
import { killPublishing } from '../support/publish-kills.ts';

let folder: string;
/** Snapshots of one project, oldest first. */
const sites: string[] = [];
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-publish-'));
  await chmod(folder, 0o755);
  for (const day of ['2026-11-01', '2026-11-10', '2026-11-20']) {
    sites.push(join(folder, day));
    await mustRun(['snapshot', inject('demoProject'), '--out', join(folder, day), '--as-of', day]);
  }
  sites.push(inject('demoSite'));
});
afterAll(() => rm(folder, { recursive: true, force: true }));

let place: string;
let turn = 0;
beforeEach(() => (place = join(folder, `place-${++turn}`)));

const publishing = (site: string, ...more: string[]) => stillmark(['publish', site, '--to', place, ...more]);
const published = async (site: string, ...more: string[]) =>
  (await mustRun(['publish', site, '--to', place, ...more])).out;
const latest = async (): Promise<string> => readlink(join(place, 'latest'));
interface Listed {
  latest: string;
  versions: { name: string; asOf: string; headline: string; despite?: string }[];
}
const listed = async (): Promise<Listed> =>
  JSON.parse(await readFile(join(place, 'versions/versions.json'), 'utf8')) as Listed;
const folders = async (): Promise<string[]> =>
  (await readdir(join(place, 'versions'))).filter((name) => name.startsWith('2026')).sort();
/** Everything below a folder with the time of its last change: what was written anew differs. */
const standing = async (path: string): Promise<string[]> => {
  const names = (await readdir(path, { recursive: true })).sort();
  return Promise.all(
    names.map(async (name) => {
      const { mtimeMs, ino } = await lstat(join(path, name));
      return `${name} ${mtimeMs} ${ino}`;
    }),
  );
};

describe('publishing', () => {
  test('a snapshot becomes a version, latest leads to it, and the history tells it; the same again changes nothing', async () => {
    const out = await published(sites[3]!);
    expect(out).toMatch(
      /^S2 has moved\.[^]*Published as versions\/20261122T230000Z-[0-9a-f]{12}, and latest leads/,
    );
    expect(await latest()).toBe(`versions/${(await folders())[0]}`);
    expect((await stillmark(['verify', join(place, 'latest')])).code).toBe(0);
    expect(await listed()).toMatchObject({
      format: 'stillmark-versions',
      version: 1,
      versions: [
        { asOf: '2026-11-22T23:00:00Z', validUntil: '2026-11-24T23:00:00Z', timeZone: 'Europe/Vienna' },
      ],
    });
    const before = [await standing(place), await standing(join(place, 'latest/'))];
    // Only the folder itself has held a lock in between.
    expect(await published(sites[3]!, '--keep', '3')).toContain('nothing was changed');
    expect([await standing(place), await standing(join(place, 'latest/'))]).toEqual(before);
  });

  test('what is published later stands first; what is older needs a reason, which the history tells', async () => {
    await published(sites[0]!);
    await published(sites[2]!);
    const newest = await latest();
    const refused = await publishing(sites[1]!);
    expect(refused).toMatchObject({ code: 1, out: '' });
    expect(refused.err).toMatch(
      /PUBLISH_OLDER[^]*as of 2026-11-10T00:00:00Z[^]*2026-11-20T00:00:00Z[^]*--despite/,
    );
    expect(await latest()).toBe(newest);
    await published(sites[1]!, '--despite', 'the file of the 19th was wrong');
    const { latest: current, versions } = await listed();
    expect(versions.map(({ asOf }) => asOf.slice(0, 10))).toEqual(['2026-11-20', '2026-11-10', '2026-11-01']);
    expect(current).toBe(versions[1]!.name);
    expect(await latest()).toBe(`versions/${versions[1]!.name}`);
    expect(versions[1]!.despite).toBe('the file of the 19th was wrong');
    expect(await readFile(join(place, 'versions/index.html'), 'utf8')).toContain(
      'the file of the 19th was wrong',
    );
    expect(await published(sites[1]!)).toContain('nothing was changed');
    expect((await listed()).versions[1]!.despite).toBe('the file of the 19th was wrong');
  });

  test('another project does not take the place of one', async () => {
    await published(sites[3]!);
    const before = await standing(place);
    const { code, err } = await publishing(inject('larkmoorSite'));
    expect({ code, told: /PUBLISH_PROJECT[^]*Larkmoor[^]*Harrowfold/.test(err) }).toEqual({
      code: 1,
      told: true,
    });
    expect(await standing(place)).toEqual(before);
  });

  test('a snapshot that is not whole is refused, and nothing is made', async () => {
    const site = join(folder, 'spoilt');
    const spoil: Record<string, () => Promise<unknown>> = {
      changed: () => writeFile(join(site, 'index.html'), 'All is well.'),
      missing: () => rm(join(site, 'methods.html')),
      added: () => writeFile(join(site, 'more.html'), ''),
      'a link to elsewhere': () => symlink('/etc', join(site, 'etc')),
      'no manifest': () => rm(join(site, 'manifest.json')),
      'a manifest that leads out': async () => {
        const text = await readFile(join(site, 'manifest.json'), 'utf8');
        await writeFile(join(site, 'manifest.json'), text.replace('"methods.html"', '"../methods.html"'));
      },
    };
    for (const [what, work] of Object.entries(spoil)) {
      await rm(site, { recursive: true, force: true });
      await cp(sites[3]!, site, { recursive: true });
      await work();
      const { code, out, err } = await publishing(site);
      expect({ code, out, told: /SNAPSHOT_F(ILE|ORMAT)/.test(err) }, what).toEqual({
        code: 1,
        out: '',
        told: true,
      });
      await expect(stat(place), what).rejects.toThrow(/ENOENT/);
    }
  });

  test.each<[string, () => Promise<unknown>, RegExp]>([
    [
      'a latest that is a folder',
      () => mkdir(join(place, 'latest'), { recursive: true }),
      /latest is there, and is no link to a version/,
    ],
    [
      'a latest of somebody else',
      async () => {
        await mkdir(place);
        await symlink('releases/5', join(place, 'latest'));
      },
      /latest is there, and is no link to a version/,
    ],
    [
      'versions of somebody else',
      async () => {
        await mkdir(join(place, 'versions'), { recursive: true });
        await writeFile(join(place, 'versions/thesis.txt'), 'years of work');
      },
      /holds something, and no versions\.json/,
    ],
    [
      'a list that was edited so that it leads out',
      async () => {
        await published(sites[0]!);
        const path = join(place, 'versions/versions.json');
        const { name } = (await listed()).versions[0]!;
        await writeFile(path, (await readFile(path, 'utf8')).replaceAll(name, '../../elsewhere'));
      },
      /SNAPSHOT_FORMAT[^]*list of what is published cannot be read/,
    ],
    [
      'a folder under the name of the version',
      async () => {
        await published(sites[0]!);
        const hash = (await mustRun(['publish', sites[3]!, '--to', `${place}-else`, '--json'])).out;
        const { name } = (JSON.parse(hash) as { version: { name: string } }).version;
        await mkdir(join(place, 'versions', name));
      },
      /USE_OUTPUT_TAKEN[^]*did not write/,
    ],
  ])('%s is not touched', async (_, prepare, expected) => {
    await prepare();
    const before = await standing(place);
    const { code, out, err } = await publishing(sites[3]!);
    expect({ out, told: expected.test(err) }, err).toEqual({ out: '', told: true });
    expect(code).toBeGreaterThan(0);
    expect(await standing(place)).toEqual(before);
  });

  test('not into itself, not below a folder that is not there; --keep and --keep-days exclude each other', async () => {
    expect((await stillmark(['publish', sites[3]!, '--to', join(sites[3]!, 'public')])).err).toMatch(
      /USE_OPTION[^]*into itself/,
    );
    expect((await stillmark(['publish', sites[3]!, '--to', join(folder, 'no/such')])).err).toMatch(
      /USE_FOLDER_MISSING/,
    );
    for (const more of [
      ['--keep', '0'],
      ['--keep', '1', '--keep-days', '2'],
      ['--keep', '-3'],
    ])
      expect(await publishing(sites[3]!, ...more)).toMatchObject({ code: 2, out: '' });
    await expect(stat(place)).rejects.toThrow(/ENOENT/);
  });

  test('a snapshot of strangers, whole by its manifest, that cannot be told is refused; of its words only text reaches the terminal', async () => {
    const site = join(folder, 'strange');
    const forge = async (change: (text: string) => string): Promise<void> => {
      await rm(site, { recursive: true, force: true });
      await cp(sites[3]!, site, { recursive: true });
      const text = change(await readFile(join(site, 'snapshot.json'), 'utf8'));
      await writeFile(join(site, 'snapshot.json'), text);
      const manifest = JSON.parse(await readFile(join(site, 'manifest.json'), 'utf8')) as {
        files: { path: string; bytes: number; sha256: string }[];
      };
      const entry = manifest.files.find(({ path }) => path === 'snapshot.json')!;
      entry.bytes = Buffer.byteLength(text);
      entry.sha256 = createHash('sha256').update(text).digest('hex');
      await writeFile(join(site, 'manifest.json'), serialiseManifest(manifest.files));
    };
    for (const change of [
      (t: string) => t.replace('"Europe/Vienna"', '"Nowhere/At_All"'),
      (t: string) => t.replace(/("pairs": \[\s*\{\s*"held": "B1",\s*"seen": )"B2"/, '$1"B9"'),
      (t: string) => t.replace('"version": 1', '"version": 2'),
      (t: string) => t.slice(0, -100),
    ]) {
      await forge(change);
      const { code, out, err } = await publishing(site);
      expect({ code, out, told: /SNAPSHOT_FORMAT/.test(err) }, err).toEqual({ code: 1, out: '', told: true });
      await expect(stat(place)).rejects.toThrow(/ENOENT/);
    }
    await forge((t) => t.replace(/("moved": \[\s*)"S2"/, '$1"<script>\\u001b[2J\\u202eS2"'));
    const { code, out } = await publishing(site);
    expect(code).toBe(0);
    for (const mark of ['\u001b', '\u202e']) expect(out).not.toContain(mark);
    expect(await readFile(join(place, 'versions/index.html'), 'utf8')).not.toContain('<script>\u001b');
  });

  test('a published version that was changed is told, and published anew once it is moved away', async () => {
    await published(sites[3]!);
    await writeFile(join(place, 'latest/index.html'), 'All is well.');
    const { code, err } = await publishing(sites[3]!);
    expect({ code, told: /SNAPSHOT_FILE[^]*index\.html, the file is changed/.test(err) }).toEqual({
      code: 1,
      told: true,
    });
    await rm(join(place, await latest()), { recursive: true });
    await mustRun(['publish', sites[3]!, '--to', place]);
    expect((await stillmark(['verify', join(place, 'latest')])).code).toBe(0);
  });
});

describe('old versions', () => {
  test('are taken away by number or by age, never the newest or the one that latest leads to', async () => {
    for (const site of sites.slice(0, 3)) await published(site);
    expect(await published(sites[3]!, '--keep', '2')).toMatch(
      /2 versions published; taken away: 20261110T\S+ and 20261101T/,
    );
    expect((await folders()).map((name) => name.slice(0, 8))).toEqual(['20261120', '20261122']);
    expect((await listed()).versions).toHaveLength(2);
    await published(sites[0]!, '--despite', 'a test');
    await published(sites[1]!, '--despite', 'a test', '--keep', '1');
    expect((await folders()).map((name) => name.slice(0, 8))).toEqual(['20261110', '20261122']);
    // Ten days before the newest as-of time, whatever the clock says.
    await published(sites[2]!, '--despite', 'a test');
    await published(sites[3]!, '--keep-days', '10');
    expect((await folders()).map((name) => name.slice(0, 8))).toEqual(['20261120', '20261122']);
  });

  test('that hold something else, or were changed, are kept and told; other files are never touched', async () => {
    for (const site of sites.slice(0, 3)) await published(site);
    const [first, second, third] = await folders();
    await writeFile(join(place, 'versions', first!, 'notes.txt'), 'put here by hand');
    await writeFile(join(place, 'versions', second!, 'status.json'), '{}');
    await rm(join(place, 'versions', third!), { recursive: true });
    await writeFile(join(place, 'versions/notes.txt'), 'years of work');
    await writeFile(join(place, 'robots.txt'), 'User-agent: *');
    await mkdir(join(place, 'versions/20250101T000000Z-000000000000'));
    const { code, err } = await publishing(sites[3]!, '--keep', '1');
    expect(code).toBe(0);
    expect(err).toMatch(/notes\.txt, the file was added/);
    expect(err).toMatch(/status\.json, the file is changed/);
    expect(err).toMatch(/is not there any more, and is listed no longer/);
    expect((await listed()).versions.map(({ name }) => name).sort()).toEqual(
      [first!, second!, (await folders()).at(-1)!].sort(),
    );
    expect(await readFile(join(place, 'versions', first!, 'notes.txt'), 'utf8')).toBe('put here by hand');
    expect(await readFile(join(place, 'versions/notes.txt'), 'utf8')).toBe('years of work');
    expect((await readdir(join(place, 'versions/20250101T000000Z-000000000000'))).length).toBe(0);
    expect(await readFile(join(place, 'robots.txt'), 'utf8')).toBe('User-agent: *');
  });

  test('that are links now are left where they lead', async () => {
    await published(sites[0]!);
    const [name] = await folders();
    const moved = join(folder, `moved-${turn}`);
    await cp(join(place, 'versions', name!), moved, { recursive: true });
    await rm(join(place, 'versions', name!), { recursive: true });
    await symlink(moved, join(place, 'versions', name!));
    const { code, err } = await publishing(sites[3]!, '--keep', '1');
    expect({ code, told: /PUBLISH_KEPT[^]*is a link now/.test(err) }).toEqual({ code: 0, told: true });
    expect((await stillmark(['verify', moved])).code).toBe(0);
  });
});

/** Draws a page without the dashboard. */
const renderer: Renderer = {
  messages: [],
  pages: () => [],
  renderPage: () => Promise.reject(new Error('no page of a snapshot is asked for')),
  renderPortfolio: () => Promise.reject(new Error('no portfolio is asked for')),
  renderReleased: () => Promise.reject(new Error('no release is asked for')),
  renderSingle: () => Promise.reject(new Error('no single file is asked for')),
  renderVersions: ({ latest: name }) => Promise.resolve(`<html>${name}</html>`),
  assets: () => Promise.resolve(new Map([['assets/x.css', new TextEncoder().encode('p {}')]])),
};
const effectsWith = (files: Files): Effects => ({ files, progress: () => {}, nowMs: () => 0 });

/** A disk on which the n-th change fails, as a full disk would. */
function failingAt(n: number): { files: Files; changes: () => number; paths: string[] } {
  let changes = 0;
  const paths: string[] = [];
  const count = <A extends unknown[], R>(work: (...args: A) => Promise<R>) => {
    return async (...args: A): Promise<R> => {
      paths.push(String(args[0]));
      if (changes++ === n)
        throw Object.assign(new Error('ENOSPC: no space left on device'), { code: 'ENOSPC' });
      return work(...args);
    };
  };
  const { write, rename, remove, link, makeFolder } = nodeFiles;
  const counted = { write, rename, remove, link, makeFolder };
  const files = {
    ...nodeFiles,
    ...Object.fromEntries(
      Object.entries(counted).map(([name, work]) => [name, count(work as () => Promise<void>)]),
    ),
  };
  return { files, changes: () => changes, paths };
}

describe('a publication that is stopped', () => {
  test('whatever change of the disk fails: latest and every listed version are whole, and the next one completes it', async () => {
    const task = (site: string) => ({ site, to: place, keep: { versions: 1 } });
    const probe = failingAt(Number.POSITIVE_INFINITY);
    await publish(task(sites[0]!), renderer, effectsWith(nodeFiles));
    await publish(task(sites[1]!), renderer, effectsWith(probe.files));
    // Copies, record, page, link, removal.
    expect(probe.changes()).toBeGreaterThan(40);
    for (let n = 0; n < probe.changes(); n++) {
      await rm(place, { recursive: true, force: true });
      await publish(task(sites[0]!), renderer, effectsWith(nodeFiles));
      const first = (await folders())[0]!;
      await publish(task(sites[1]!), renderer, effectsWith(failingAt(n).files)).then(
        () => undefined,
        (error: Error) => expect(error.message).toMatch(/ENOSPC/),
      );
      for (const path of ['latest', ...(await folders()).map((name) => `versions/${name}`)])
        expect(
          (await verify(join(place, path), effectsWith(nodeFiles))).problems,
          `change ${n}: ${path}`,
        ).toEqual([]);
      await publish(task(sites[1]!), renderer, effectsWith(nodeFiles));
      expect(await folders(), `change ${n}`).toEqual([(await latest()).slice('versions/'.length)]);
      expect(await folders()).not.toContain(first);
      expect((await listed()).versions).toHaveLength(1);
      expect((await readdir(place)).sort()).toEqual(['latest', 'versions']);
      expect((await readdir(join(place, 'versions'))).filter((name) => name.startsWith('.'))).toEqual([]);
    }
  });

  test('twice in a row, at any two changes, leaves nothing that the third takes for a stranger', async () => {
    // Of few files, so that there is time for many attempts.
    const lean = await Promise.all(
      sites.map(async (site, n) => {
        const small = join(folder, `lean-${n}`);
        const names = ['index.html', 'snapshot.json'];
        const entries = await Promise.all(
          names.map(async (path) => {
            const bytes = await readFile(join(site, path));
            await mkdir(small, { recursive: true });
            await writeFile(join(small, path), bytes);
            return { path, bytes: bytes.length, sha256: createHash('sha256').update(bytes).digest('hex') };
          }),
        );
        await writeFile(join(small, 'manifest.json'), serialiseManifest(entries));
        return small;
      }),
    );
    const task = (n: number) => ({ site: lean[n]!, to: place, keep: { versions: 1 } });
    const attempt = (site: number, n: number) =>
      publish({ ...task(site), despite: 'a test' }, renderer, effectsWith(failingAt(n).files)).catch(
        () => undefined,
      );
    await publish(task(0), renderer, effectsWith(nodeFiles));
    const probe = failingAt(Number.POSITIVE_INFINITY);
    await publish(task(1), renderer, effectsWith(probe.files));
    // Copies of single files are alike: what matters comes right before what is underway is written, and after that.
    const from = probe.paths.findIndex((path) => path.endsWith('underway.json')) - 1;
    const moments = Array.from({ length: 9 }, (_, n) => from + n);
    for (const first of moments)
      for (const second of moments) {
        await rm(place, { recursive: true, force: true });
        await publish(task(0), renderer, effectsWith(nodeFiles));
        // The first is the newest, which the second does not take away.
        await attempt(2, first);
        await attempt(1, second);
        await publish(task(3), renderer, effectsWith(nodeFiles));
        expect(await folders(), `${first}, ${second}`).toEqual([(await latest()).slice('versions/'.length)]);
      }
  });

  test('on a disk without links nothing is copied, and it is told', async () => {
    const files: Files = {
      ...nodeFiles,
      link: () => Promise.resolve('EPERM: operation not permitted, symlink'),
    };
    await expect(publish({ site: sites[0]!, to: place }, renderer, effectsWith(files))).rejects.toMatchObject(
      {
        problems: [
          { code: 'PUBLISH_LINK', message: expect.stringContaining('operation not permitted') as string },
        ],
      },
    );
    expect(await readdir(place)).toEqual([]);
  });

  test('two at once: one is refused, or comes after the other', async () => {
    const ended = await Promise.all([1, 2, 3].map(() => publishing(sites[3]!)));
    expect(ended.some(({ code }) => code === 0)).toBe(true);
    for (const { code, err } of ended) if (code !== 0) expect(err).toContain('USE_LOCKED');
    expect((await stillmark(['verify', join(place, 'latest')])).code).toBe(0);
  });
});

// `node tests/benchmarks/publish-kills.ts` does the same with 300 kills, which takes some minutes.
test('a reader that asks a web server all the time sees whole snapshots only, while publish is killed 40 times', async () => {
  const own = join(folder, 'killed');
  await mkdir(own, { mode: 0o755 });
  const random = source(11);
  const seen = await killPublishing(own, sites, 40, () => random.uniform());
  expect(seen.kills).toBe(40);
  expect(seen.reads).toBeGreaterThan(500);
  expect(seen.pairs).toBeGreaterThan(100);
  // It was not one and the same snapshot that it read.
  expect(seen.switches).toBeGreaterThan(2);
}, 240_000);
