import { createHash } from 'node:crypto';
import { mkdtemp, readdir, readFile, rm, truncate, writeFile } from 'node:fs/promises';
import { hostname, tmpdir } from 'node:os';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import { ProblemError } from '@stillmark/problems';
import type { EpochRow } from '@stillmark/records';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { EpochStore } from './index.ts';

let folder: string;
beforeEach(async () => {
  // A quote and a space in the path: it goes into SQL.
  folder = await mkdtemp(join(tmpdir(), "still's mark "));
});
afterEach(() => rm(folder, { recursive: true, force: true }));

const epoch = (station: string, time: string, x = 1): EpochRow => ({
  stream: 'main',
  station,
  timeMs: Date.parse(time),
  x: 4_373_283.1234 + x / 1000,
  y: 0.1 + 0.2,
  z: -0,
  covariance: [4e-6, 1e-7, 0, 2e-6, 0, 9e-6],
});
const rows = ['S2', 'S1'].flatMap((station) =>
  ['2026-03-31T23:59:59.999Z', '2026-04-01T00:00:00Z', '2026-03-01T12:00:00Z'].map((time, i) =>
    epoch(station, time, i),
  ),
);
const march = 'epochs/month=2026-03/epochs.parquet';
const april = 'epochs/month=2026-04/epochs.parquet';
const hash = async (store: EpochStore, path: string): Promise<string> =>
  createHash('sha256')
    .update(await readFile(join(store.folder, path)))
    .digest('hex');

describe('epochs on disk', () => {
  test('what is added is read back to the last bit, by station and in order of time', async () => {
    const store = new EpochStore(join(folder, 'store'));
    expect(await store.add(rows)).toEqual({ added: 6, repeated: 0 });
    const read = (await store.read(Date.parse('2026-12-31T00:00:00Z'))).get('main')!;
    expect([...read.keys()]).toEqual(['S1', 'S2']);
    const s1 = read.get('S1')!;
    expect([...s1.timesMs].map((t) => new Date(t).toISOString())).toEqual([
      '2026-03-01T12:00:00.000Z',
      '2026-03-31T23:59:59.999Z',
      '2026-04-01T00:00:00.000Z',
    ]);
    expect(Object.is(s1.xyz[3], rows[3]!.x)).toBe(true);
    expect(s1.xyz[1]).toBe(0.1 + 0.2);
    expect([...s1.covariance.subarray(6, 12)]).toEqual([4e-6, 1e-7, 0, 2e-6, 0, 9e-6]);
  });

  test('a zero has no sign, whether or not two rows of one station and time are put in order by it', async () => {
    const time = '2026-03-02T00:00:00Z';
    for (const [name, more] of [
      ['one', []],
      ['two', [{ ...epoch('S1', time), z: 0 }, epoch('S1', time, 2)]],
    ] as const) {
      const store = new EpochStore(join(folder, name));
      await store.add([epoch('S1', time), ...more]);
      const { xyz } = (await store.read(Date.parse(time))).get('main')!.get('S1')!;
      expect(xyz).toHaveLength(more.length > 0 ? 6 : 3);
      for (let i = 2; i < xyz.length; i += 3) expect(Object.is(xyz[i], 0)).toBe(true);
    }
  });

  test('the as-of time cuts: an epoch after it is not read', async () => {
    const store = new EpochStore(folder);
    await store.add(rows);
    expect(
      (await store.read(Date.parse('2026-03-31T23:59:59.999Z'))).get('main')!.get('S1')!.timesMs.length,
    ).toBe(2);
    expect(await store.newest()).toBe(Date.parse('2026-04-01T00:00:00Z'));
    expect(await new EpochStore(join(folder, 'none')).newest()).toBeUndefined();
  });

  test('the same rows twice change nothing, an overlap adds what is new', async () => {
    const store = new EpochStore(folder);
    await store.add(rows);
    const before = await hash(store, march);
    expect(await store.add(rows)).toEqual({ added: 0, repeated: 6 });
    expect(await hash(store, march)).toBe(before);
    expect(await store.add([rows[0]!, epoch('S3', '2026-03-02T00:00:00Z')])).toEqual({
      added: 1,
      repeated: 1,
    });
  });

  test('two different positions for one station and time are both kept', async () => {
    const store = new EpochStore(folder);
    await store.add([epoch('S1', '2026-03-01T12:00:00Z', 1)]);
    await store.add([epoch('S1', '2026-03-01T12:00:00Z', 2)]);
    expect((await store.read(8e15)).get('main')!.get('S1')!.timesMs.length).toBe(2);
  });

  test('the bytes do not depend on the order or the number of deliveries', async () => {
    const one = new EpochStore(join(folder, 'one'));
    const other = new EpochStore(join(folder, 'other'));
    await one.add(rows);
    for (const row of rows.toReversed()) await other.add([row]);
    expect(await hash(other, march)).toBe(await hash(one, march));
    expect(await hash(other, april)).toBe(await hash(one, april));
  });

  test('a stranger reads it as a hive partitioned table', async () => {
    const store = new EpochStore(folder);
    await store.add(rows);
    const db = await (await DuckDBInstance.create(':memory:')).connect();
    const glob = join(folder, 'epochs/*/*.parquet').replaceAll("'", "''");
    const reader = await db.runAndReadAll(
      `SELECT month, count(*)::INT FROM read_parquet('${glob}', hive_partitioning = true) GROUP BY month ORDER BY month`,
    );
    expect(reader.getRows()).toEqual([
      ['2026-03', 4],
      ['2026-04', 2],
    ]);
  });
});

describe('faults', () => {
  test('an empty store has no epochs', async () => {
    const store = new EpochStore(join(folder, 'none'));
    expect(await store.partitions()).toEqual([]);
    expect((await store.read(8e15)).size).toBe(0);
  });

  test('what a stopped command left half-written is not read and is swept away', async () => {
    const store = new EpochStore(folder);
    await store.add(rows);
    await writeFile(join(folder, `${march}.partial`), 'half');
    expect((await store.read(8e15)).get('main')!.size).toBe(2);
    await store.add([epoch('S9', '2026-05-01T00:00:00Z')]);
    expect((await readdir(folder, { recursive: true })).filter((name) => name.endsWith('.partial'))).toEqual(
      [],
    );
  });

  test('a file that was cut is told by name, and adding to it does not replace it', async () => {
    const store = new EpochStore(folder);
    await store.add(rows);
    await truncate(join(folder, march), 100);
    const cut = await hash(store, march);
    const refused = await store.add([epoch('S9', '2026-03-05T00:00:00Z')]).catch((error: unknown) => error);
    expect(refused).toBeInstanceOf(ProblemError);
    expect((refused as ProblemError).problems[0]).toMatchObject({
      code: 'STORE_UNREADABLE',
      at: { file: join(folder, march) },
    });
    expect(await hash(store, march)).toBe(cut);
  });

  test('a store that a living process writes to is refused; the lock of a dead one is taken over', async () => {
    const store = new EpochStore(folder);
    await writeFile(join(folder, 'writing.lock'), `${process.ppid} ${hostname()}\n`);
    await expect(store.add(rows)).rejects.toThrow(/is writing to this store/);
    await writeFile(join(folder, 'writing.lock'), `999999999 ${hostname()}\n`);
    expect((await store.add(rows)).added).toBe(6);
  });
});
