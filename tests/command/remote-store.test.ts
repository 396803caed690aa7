import { cp, mkdir, mkdtemp, readdir, readFile, rename, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { writeHarrowfold } from '@stillmark/data/harrowfold-slope/write.ts';
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import { mustRun, stillmark, type Ended } from '../support/command.ts';
import { testStorage, type TestStorage } from '../support/object-storage.ts';

// A store in object storage, by a server of the protocol that others wrote, and the command in processes of its own.

vi.setConfig({ testTimeout: 120_000 });

let folder: string;
let storage: TestStorage;
const opened: TestStorage[] = [];
const open = async (heeds?: Parameters<typeof testStorage>[0]): Promise<TestStorage> => {
  const one = await testStorage(heeds);
  opened.push(one);
  return one;
};
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-remote-'));
  storage = await open();
});
afterEach(async () => {
  for (const one of opened.splice(0)) await one.close();
  await rm(folder, { recursive: true, force: true });
});

const at = 's3://works/slope/store';
const months = ['2026-09', '2026-10', '2026-11'];
const everything = [
  'slope/store/deliveries.json',
  ...months.map((month) => `slope/store/epochs/month=${month}/epochs.parquet`),
  'slope/store/store.json',
];

/** A machine with the project and the deliveries of some months. */
async function machine(name: string, ...delivered: string[]): Promise<string> {
  const place = join(folder, name);
  await writeHarrowfold(place);
  for (const month of months) if (!delivered.includes(month)) await rm(join(place, `positions/${month}.csv`));
  return place;
}

const run = (...args: string[]): Promise<Ended> => stillmark(args, { env: storage.env });
const must = (...args: string[]): Promise<Ended> => mustRun(args, { env: storage.env });

/** Every file below a folder. */
async function bytesOf(place: string): Promise<Map<string, string>> {
  const found = new Map<string, string>();
  for (const entry of await readdir(place, { recursive: true, withFileTypes: true }))
    if (entry.isFile()) {
      const path = join(entry.parentPath, entry.name);
      found.set(path.slice(place.length + 1), (await readFile(path)).toString('base64'));
    }
  return found;
}

/** Tables of a store that was made of all deliveries on one disk. */
async function tablesOnDisk(): Promise<Map<string, string>> {
  const alone = await machine('alone', ...months);
  await mustRun(['ingest', alone]);
  return new Map(
    [...(await bytesOf(join(alone, 'store')))]
      .filter(([path]) => path.startsWith('epochs/'))
      .map(([path, bytes]) => [`slope/store/${path}`, bytes]),
  );
}

/** Two machines, each with a month of its own and one half of October. */
async function halves(): Promise<readonly [string, string]> {
  const two = await Promise.all([machine('a', '2026-09', '2026-10'), machine('b', '2026-10', '2026-11')]);
  for (const [i, place] of two.entries()) {
    const file = join(place, 'positions/2026-10.csv');
    const [head, ...rows] = (await readFile(file, 'utf8')).trimEnd().split('\n');
    await writeFile(file, `${[head, ...rows.filter((_, n) => n % 2 === i)].join('\n')}\n`);
  }
  return two;
}

const tablesThere = async (): Promise<Map<string, string>> =>
  new Map(
    [...(await storage.objects())]
      .filter(([key]) => key.includes('/epochs/'))
      .map(([key, bytes]) => [key, bytes.toString('base64')]),
  );

describe('a store in object storage', () => {
  test('what one machine ingests, another states: the same bytes as on one disk', async () => {
    const office = await machine('office', ...months);
    await must('ingest', office, '--store-at', at);
    expect([...(await storage.objects()).keys()].sort()).toEqual(everything);
    // What it tells of is there when the list of deliveries is written.
    expect(storage.written.at(-1)).toBe('slope/store/deliveries.json');

    const web = await machine('web', '2026-11');
    await must('snapshot', web, '--out', join(folder, 'site'), '--store-at', at);
    const alone = await machine('alone', ...months);
    await mustRun(['ingest', alone]);
    await mustRun(['snapshot', alone, '--out', join(folder, 'site-alone')]);
    expect(await bytesOf(join(folder, 'site'))).toEqual(await bytesOf(join(folder, 'site-alone')));
  });

  test('the folder remembers where its store stands, and sends nothing that stands there', async () => {
    const office = await machine('office', '2026-09');
    await must('ingest', office, '--store-at', at);
    storage.written.length = 0;
    await must('ingest', office);
    expect(storage.written).toEqual([]);

    const field = await machine('field', '2026-10');
    await must('ingest', field, '--store-at', at);
    // The same delivery at another machine is known.
    const { out } = await must('ingest', field, '--json');
    expect((JSON.parse(out) as { files: unknown[] }).files).toMatchObject([{ added: 0 }]);
    // Another command at the office reads what came since.
    await must('snapshot', office, '--out', join(folder, 'site'));
    const { asOf } = JSON.parse(await readFile(join(folder, 'site/status.json'), 'utf8')) as { asOf: string };
    expect(asOf.slice(0, 7)).toBe('2026-10');
  });

  test('two machines that ingest at the same time lose no row of either', async () => {
    const two = await halves();
    // Each knows of nothing when it begins, and waits with its first writing until the other has begun, too.
    let arrived = 0;
    let bothHere: () => void;
    const both = new Promise<void>((done) => (bothHere = done));
    storage.allows = async () => {
      if (++arrived === 2) bothHere();
      await Promise.race([both, new Promise((done) => setTimeout(done, 5_000))]);
      return true;
    };
    await Promise.all(two.map((place) => must('ingest', place, '--store-at', at)));
    expect(await tablesThere()).toEqual(await tablesOnDisk());
    const ledger = JSON.parse(
      (await storage.objects()).get('slope/store/deliveries.json')!.toString(),
    ) as unknown[];
    expect(ledger).toHaveLength(4);
  });

  test('where the line breaks at any writing, the next ingest completes it, and nobody reads half of it', async () => {
    const expected = await tablesOnDisk();
    for (let writings = 0; writings < everything.length; writings++) {
      storage = await open();
      let left = writings;
      storage.allows = () => left-- > 0;
      const office = await machine(`office-${writings}`, ...months);
      const { code, err } = await stillmark(['ingest', office, '--store-at', at], {
        env: { ...storage.env, AWS_MAX_ATTEMPTS: '1' },
      });
      expect(code).toBe(1);
      expect(err).toContain('the store in object storage cannot be used');
      // Whatever is there, is whole.
      for (const [key, bytes] of await tablesThere()) expect(bytes).toBe(expected.get(key));
      storage.allows = () => true;
      await must('ingest', office);
      expect(await tablesThere()).toEqual(expected);
      expect([...(await storage.objects()).keys()].sort()).toEqual(everything);
    }
  });

  test('a command that was stopped before it had written down what it sent goes on, too', async () => {
    const office = await machine('office', '2026-09', '2026-10');
    await must('ingest', office, '--store-at', at);
    const mark = join(office, 'store/remote.json');
    const before = await readFile(mark, 'utf8');
    await cp(join(await machine('other', ...months), 'positions'), join(office, 'positions'), {
      recursive: true,
    });
    await must('ingest', office);
    await writeFile(mark, before);
    await must('ingest', office);
    expect(await tablesThere()).toEqual(await tablesOnDisk());
  });

  test('rows that were added here and there since are joined', async () => {
    const [a, b] = [await machine('a', '2026-09'), await machine('b', '2026-10')];
    await must('ingest', a, '--store-at', at);
    await must('ingest', b, '--store-at', at);
    // Here the line is cut before anything is sent, so that rows wait.
    storage.allows = () => false;
    const october = join(await machine('c', '2026-10', '2026-11'), 'positions');
    await cp(october, join(a, 'positions'), { recursive: true });
    const cut = { env: { ...storage.env, AWS_MAX_ATTEMPTS: '1' } };
    expect((await stillmark(['ingest', a], cut)).code).toBe(1);
    storage.allows = () => true;
    await cp(october, join(b, 'positions'), { recursive: true });
    await must('ingest', b);
    await must('ingest', a);
    expect(await tablesThere()).toEqual(await tablesOnDisk());
    expect(await bytesOf(join(a, 'store/epochs'))).toEqual(await bytesOf(join(b, 'store/epochs')));
  });

  test('a month that is taken away over there is built again, and comes back from no copy', async () => {
    const [a, b] = [await machine('a', ...months), await machine('b', '2026-09')];
    // A position that is wrong, in a file of its own.
    const october = await readFile(join(a, 'positions/2026-10.csv'), 'utf8');
    const [head, first] = october.split('\n');
    const wrong = first!
      .split(',')
      .map((cell, i) => (head!.split(',')[i] === 'z' ? String(Number(cell) + 1) : cell));
    await writeFile(join(a, 'positions/wrong.csv'), `${head}\n${wrong.join(',')}\n`);
    await must('ingest', a, '--store-at', at);
    await must('ingest', b, '--store-at', at);
    const bad = (await tablesThere()).get('slope/store/epochs/month=2026-10/epochs.parquet');

    await rm(join(a, 'positions/wrong.csv'));
    await storage.remove('slope/store/epochs/month=2026-10/epochs.parquet');
    await must('ingest', b);
    expect([...(await tablesThere()).keys()]).toHaveLength(2);
    await must('ingest', a);
    await must('ingest', b);
    expect(await tablesThere()).toEqual(await tablesOnDisk());
    expect(await bytesOf(join(b, 'store/epochs'))).toEqual(await bytesOf(join(a, 'store/epochs')));
    expect([...(await bytesOf(join(b, 'store/set-aside'))).values()]).toEqual([bad]);

    for (const key of (await storage.objects()).keys()) await storage.remove(key);
    const { code, err } = await run('ingest', a);
    expect({ code, told: err.includes('nothing of the store stands there any more') }).toEqual({
      code: 1,
      told: true,
    });
    expect((await bytesOf(join(a, 'store/epochs'))).size).toBe(3);
    await rm(join(a, 'store/remote.json'));
    await must('ingest', a, '--store-at', at);
    expect(await tablesThere()).toEqual(await tablesOnDisk());
  });

  test('a copy that is put back to what it was, or spoilt, undoes nothing over there', async () => {
    const a = await machine('a', '2026-10');
    const october = join(a, 'store/epochs/month=2026-10/epochs.parquet');
    const positions = join(a, 'positions/2026-10.csv');
    const [head, ...rows] = (await readFile(positions, 'utf8')).trimEnd().split('\n');
    await writeFile(positions, `${[head, ...rows.slice(0, 900)].join('\n')}\n`);
    await must('ingest', a, '--store-at', at);
    const before = await readFile(october);
    await writeFile(positions, `${[head, ...rows].join('\n')}\n`);
    await must('ingest', a);
    const whole = await tablesThere();

    await writeFile(october, before);
    await must('ingest', a);
    expect(await tablesThere()).toEqual(whole);
    expect(await bytesOf(join(a, 'store/epochs'))).toEqual(
      new Map([...whole].map(([key, bytes]) => [key.replace('slope/store/epochs/', ''), bytes])),
    );

    await writeFile(october, before.subarray(0, 5000));
    const { err } = await must('ingest', a);
    expect(err).toContain('could not be read here; the file of before is kept');
    expect(await tablesThere()).toEqual(whole);
    expect(await readFile(october)).toEqual(
      Buffer.from(whole.get('slope/store/epochs/month=2026-10/epochs.parquet')!, 'base64'),
    );

    // Spoilt over there it is taken by nobody, and told.
    await storage.put('slope/store/epochs/month=2026-10/epochs.parquet', 'spoilt');
    const spoilt = await run('ingest', a);
    expect({
      code: spoilt.code,
      told: spoilt.err.includes(`${at}/epochs/month=2026-10/epochs.parquet`),
    }).toEqual({
      code: 1,
      told: true,
    });
    expect((await readFile(october)).length).toBeGreaterThan(5000);
  });

  test('of a month that is built again, each machine brings its part, and keeps every file of before', async () => {
    const two = await halves();
    for (const place of two) await must('ingest', place, '--store-at', at);
    await must('ingest', two[0]);
    const whole = await tablesThere();
    for (let round = 1; round <= 2; round++) {
      await storage.remove('slope/store/epochs/month=2026-10/epochs.parquet');
      for (const place of two) await must('ingest', place);
      expect(await tablesThere()).toEqual(whole);
    }
    // The first round left what both had, the second nothing else.
    const kept = await bytesOf(join(two[1], 'store/set-aside'));
    expect([...kept.values()]).toContain(whole.get('slope/store/epochs/month=2026-10/epochs.parquet'));
  });

  test('what was stopped in the first fetch is a copy, and no store of its own', async () => {
    const office = await machine('office', ...months);
    await must('ingest', office, '--store-at', at);
    const web = await machine('web', '2026-09');
    await mkdir(join(web, 'store/epochs/month=2026-09'), { recursive: true });
    const { address, endpoint, format } = JSON.parse(
      await readFile(join(office, 'store/remote.json'), 'utf8'),
    ) as Record<string, string>;
    // As it lies between the first file and its mark.
    await cp(
      join(office, 'store/epochs/month=2026-09/epochs.parquet'),
      join(web, 'store/epochs/month=2026-09/epochs.parquet'),
    );
    await writeFile(
      join(web, 'store/remote.json'),
      JSON.stringify({ format, address, endpoint, doubted: [], files: {} }),
    );
    await must('snapshot', web, '--out', join(folder, 'site'));
    expect(await bytesOf(join(web, 'store/epochs'))).toEqual(await bytesOf(join(office, 'store/epochs')));
    // From here on it is one like any other: another month does not make it send.
    storage.written.length = 0;
    await must('ingest', web);
    expect(storage.written).toEqual([]);
  });

  test('a copy that another program made has other times alone', async () => {
    const office = await machine('office', ...months);
    await must('ingest', office, '--store-at', at);
    const moved = join(folder, 'moved');
    await cp(office, moved, { recursive: true });
    await storage.remove('slope/store/epochs/month=2026-10/epochs.parquet');
    await rm(join(moved, 'positions/2026-10.csv'));
    await must('ingest', moved);
    expect([...(await tablesThere()).keys()]).toHaveLength(2);
  });

  test('answers that are lost, and a listing that is not whole', async () => {
    const office = await machine('office', ...months);
    const lost = new Set<string>();
    storage.loses = (key) => !lost.has(key) && lost.add(key).has(key);
    await must('ingest', office, '--store-at', at);
    expect(await tablesThere()).toEqual(await tablesOnDisk());
    storage.hides = (key) => key.includes('month=2026-10');
    const { code, err } = await run('snapshot', office, '--out', join(folder, 'site'));
    expect({ code, told: err.includes('and does not list it') }).toEqual({ code: 1, told: true });
    expect((await bytesOf(join(office, 'store/epochs'))).size).toBe(3);
  });

  test('what else lies in the bucket is not taken, however it is called', async () => {
    const office = await machine('office', '2026-09');
    await must('ingest', office, '--store-at', at);
    for (const name of ['notes.txt', 'remote.json.partial', 'writing.lock', 'computed/x', 'project.yaml'])
      await storage.put(`slope/store/${name}`, 'not ours');
    await storage.put('slope/store/epochs/month=2026-10/readings.parquet', 'not ours');
    await storage.put('slope/store/epochs/month=2026-10/deeper/epochs.parquet', 'not ours');
    const web = await machine('web');
    await must('snapshot', web, '--out', join(folder, 'site'), '--store-at', at);
    expect(
      [...(await bytesOf(join(web, 'store'))).keys()].filter((path) => !path.startsWith('computed/')).sort(),
    ).toEqual(['deliveries.json', 'epochs/month=2026-09/epochs.parquet', 'remote.json', 'store.json']);
  });
});

describe('told in words', () => {
  test.each([
    ['any condition', { match: false, none: false }],
    ['what stands there', { match: false, none: true }],
    ['whether anything stands there', { match: true, none: false }],
  ])('storage that takes no heed of %s', async (_, heeds) => {
    storage = await open(heeds);
    const office = await machine('office', '2026-09');
    const { err } = await must('ingest', office, '--store-at', at);
    expect(err).toContain('two machines that ingest at once may undo each other’s rows');
    expect((await must('ingest', office)).err).toContain('one machine alone that ingests');
    expect((await must('doctor', office)).out).toContain('only one machine may ingest');
  });

  test('a bucket that is not there, credentials that are none, a host that does not answer', async () => {
    const office = await machine('office', '2026-09');
    for (const [address, env] of [
      ['s3://nothing/store', {}],
      [at, { AWS_SECRET_ACCESS_KEY: 'another' }],
      [at, { AWS_ACCESS_KEY_ID: '', AWS_SECRET_ACCESS_KEY: '' }],
      [at, { AWS_ENDPOINT_URL_S3: 'http://127.0.0.1:1' }],
    ] as const) {
      const { code, err } = await stillmark(['ingest', office, '--store-at', address], {
        env: { ...storage.env, AWS_MAX_ATTEMPTS: '1', ...env },
      });
      expect({ code, err }).toMatchObject({ code: 1 });
      expect(err).toMatch(/the store in object storage cannot be used: \S/);
      expect(err).toContain(address);
      expect(err).toContain('AWS_ENDPOINT_URL_S3');
      // Nothing was begun that the next command would take for a store.
      await expect(readFile(join(office, 'store/remote.json'))).rejects.toThrow('ENOENT');
    }
    await must('ingest', office, '--store-at', at);
    const snapshot = ['snapshot', office, '--out', join(folder, 'site')];
    const other = { ...storage.env, AWS_ENDPOINT_URL_S3: 'http://127.0.0.1:1' };
    const asked = await stillmark(snapshot, { env: other });
    expect({
      code: asked.code,
      told: asked.err.includes('and this command would ask http://127.0.0.1:1'),
    }).toEqual({ code: 2, told: true });
    await opened.pop()!.close();
    const gone = await stillmark(snapshot, { env: { ...storage.env, AWS_MAX_ATTEMPTS: '1' } });
    expect({
      code: gone.code,
      told: gone.err.includes('the store in object storage cannot be used'),
    }).toEqual({
      code: 1,
      told: true,
    });
    await expect(readFile(join(folder, 'site/index.html'))).rejects.toThrow('ENOENT');
  });

  test('another address than the folder remembers, and a store of its own', async () => {
    const office = await machine('office', '2026-09');
    await must('ingest', office, '--store-at', at);
    const other = await run('ingest', office, '--store-at', 's3://works/dam/store');
    expect(other).toMatchObject({ code: 2 });
    expect(other.err).toContain(`stands at ${at}, and not at s3://works/dam/store`);

    const own = await machine('own', '2026-10');
    await mustRun(['ingest', own]);
    const refused = await run('ingest', own, '--store-at', at);
    expect(refused).toMatchObject({ code: 2 });
    expect(refused.err).toContain('the folder has a store of its own');
    // As the hint says.
    await rename(join(own, 'store'), join(own, 'store-before'));
    await must('ingest', own, '--store-at', at);
    expect((await tablesThere()).size).toBe(2);
    // A store on a disk goes where none stands.
    const grown = await machine('grown', '2026-11');
    await mustRun(['ingest', grown]);
    await must('ingest', grown, '--store-at', 's3://works/grown');
    expect([...(await storage.objects()).keys()]).toContain('grown/epochs/month=2026-11/epochs.parquet');
  });

  test('a store of a later version, before anything of it is taken', async () => {
    const office = await machine('office', '2026-09');
    await must('ingest', office, '--store-at', at);
    await storage.put('slope/store/store.json', '{ "format": "stillmark-store", "version": 2 }');
    const web = await machine('web');
    const { code, err } = await run('snapshot', web, '--out', join(folder, 'site'), '--store-at', at);
    expect({ code, told: err.includes('the store is of version 2, this command reads up to 1') }).toEqual({
      code: 1,
      told: true,
    });
    await expect(readdir(join(web, 'store/epochs'))).rejects.toThrow('ENOENT');
  });

  test('addresses that are none', async () => {
    const office = await machine('office');
    for (const text of [
      's3://',
      's3://Works/x',
      's3://works/../other',
      'https://works/x',
      's3://works/a b',
      'works/x',
    ]) {
      const { code, err } = await run('ingest', office, '--store-at', text);
      expect({ text, code }).toEqual({ text, code: 2 });
      expect(err).toContain('is not an address such as s3://bucket/dam/store');
    }
  });
});
