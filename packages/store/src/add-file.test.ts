import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { EpochRow, ReadingRow, TrackingRow } from '@stillmark/records';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { EpochStore } from './epoch-store.ts';
import { ReadingStore } from './reading-store.ts';
import { TrackingStore } from './tracking-store.ts';

// Invented rows; what is tested is that a file of rows from elsewhere and rows of one's own are one set, as if all had come to one store.
let folder: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-add-file-'));
});
afterEach(() => rm(folder, { recursive: true, force: true }));

const hours = Array.from({ length: 20 }, (_, i) => Date.UTC(2026, 2, 3, i));
const epochs = hours.map((timeMs, i): EpochRow => ({
  stream: 'from-B1',
  station: i % 3 === 0 ? 'T02' : 'T01',
  timeMs,
  x: 4_000_000 + i / 7,
  y: 900_000,
  z: 4_800_000 - i / 3,
  covariance: [1e-6, 0, 0, 1e-6, 0, 2e-6],
}));
const readings = hours.map((timeMs, i): ReadingRow => ({ sensor: 'level', timeMs, value: 12 + i / 10 }));
const tracked = hours.map((firstMs, i): TrackingRow => ({
  source: 'logs',
  station: 'T01',
  manner: 'mask 10',
  firstMs,
  lastMs: firstMs + 3_599_000,
  signal: i % 2 === 0 ? 'G' : 'E1X',
  intervalMs: 1000,
  epochs: 3600,
  satellites: `G0${i % 9} G11 it's`,
  tracked: 7,
  above: 6,
  expected: 7,
  slips: 0,
  cn0: 41.5,
  multipath: Number.NaN,
  pdop: 2,
  positions: i,
  fixed: i,
}));

interface Table<T> {
  add(rows: readonly T[]): Promise<unknown>;
  addFile(path: string): Promise<unknown>;
}

/** Two stores with rows in common, of which one is added to the other, twice; and a store of all rows. */
async function joinTwo<T>(
  kind: new (folder: string) => Table<T>,
  rows: readonly T[],
  file: string,
): Promise<{ added: unknown[]; joined: Buffer; alone: Buffer }> {
  const place = (name: string): string => join(folder, name);
  const own = new kind(place('ours'));
  await own.add(rows.slice(0, 12));
  await new kind(place('theirs')).add(rows.slice(8));
  const added = [
    await own.addFile(join(place('theirs'), file)),
    await own.addFile(join(place('theirs'), file)),
  ];
  await new kind(place('alone')).add(rows);
  return {
    added,
    joined: await readFile(join(place('ours'), file)),
    alone: await readFile(join(place('alone'), file)),
  };
}
const expected = [
  { added: 8, repeated: 4 },
  { added: 0, repeated: 12 },
];

test('epochs', async () => {
  const { added, joined, alone } = await joinTwo(EpochStore, epochs, 'epochs/month=2026-03/epochs.parquet');
  expect(added).toEqual(expected);
  expect(joined).toEqual(alone);
});

test('readings', async () => {
  const { added, joined, alone } = await joinTwo(
    ReadingStore,
    readings,
    'readings/month=2026-03/readings.parquet',
  );
  expect(added).toEqual(expected);
  expect(joined).toEqual(alone);
});

test('hours of tracking, which come back as they were given', async () => {
  const { added, joined, alone } = await joinTwo(
    TrackingStore,
    tracked,
    'tracking/month=2026-03/tracking.parquet',
  );
  expect(added).toEqual(expected);
  expect(joined).toEqual(alone);
  const read = await new TrackingStore(join(folder, 'ours')).read(hours[0]! - 1, hours.at(-1)!);
  expect(read).toEqual(tracked);
  expect(await new TrackingStore(join(folder, 'ours')).read(hours[0]!, hours[2]!)).toEqual(
    tracked.slice(1, 3),
  );
});

test('a file that is none is told, and nothing is added', async () => {
  const store = new ReadingStore(join(folder, 'ours'));
  await store.add(readings);
  const before = await readFile(join(folder, 'ours/readings/month=2026-03/readings.parquet'));
  await expect(store.addFile(join(import.meta.dirname, 'index.ts'))).rejects.toMatchObject({
    problems: [{ code: 'STORE_UNREADABLE' }],
  });
  expect(await readFile(join(folder, 'ours/readings/month=2026-03/readings.parquet'))).toEqual(before);
});
