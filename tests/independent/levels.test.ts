import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import { seeded } from '@stillmark/data/synthetic/noise.ts';
import { encodeEpochs, levelsOf } from '@stillmark/snapshot';
import { expect, test } from 'vitest';

// The levels that a timeline is zoomed by, against what DuckDB finds in the file of the epochs themselves.

test('least and greatest of each bin, and how many bins there are, are those that DuckDB finds', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'stillmark-levels-'));
  const n = 60_000;
  const random = seeded(4);
  const column = (f: () => number): Float64Array => Float64Array.from({ length: n }, f);
  let t = Date.parse('2024-02-28T23:59:58Z');
  const epochs = {
    timesMs: column(() => (t += 300_000 + (random.uniform() < 0.001 ? 90_000_000 * random.uniform() : 0))),
    east_mm: column(() => random.normal()),
    north_mm: column(() => 5 * random.normal()),
    up_mm: column(() => 1000 * random.uniform()),
    flag: Uint8Array.from({ length: n }, () => (random.uniform() < 0.02 ? 1 : 0)),
  };
  const database = await DuckDBInstance.create(':memory:');
  const connection = await database.connect();
  const file = (name: string, bytes: Uint8Array): string => {
    writeFileSync(join(folder, name), bytes);
    return `read_parquet('${join(folder, name)}')`;
  };
  const ask = async (from: string, binMs: number): Promise<unknown[]> => {
    const result = await connection.runAndReadAll(
      `SELECT epoch_ms(time) // ${binMs} AS bin, flag, min(east_mm), max(east_mm), min(north_mm), max(north_mm), min(up_mm), max(up_mm)
       FROM ${from} GROUP BY ALL ORDER BY ALL`,
    );
    return result.getRowsJson();
  };
  const all = file('epochs.parquet', encodeEpochs(epochs));
  const levels = levelsOf(epochs);
  expect(levels.length).toBeGreaterThan(1);
  for (const { binMs, epochs: level } of levels) {
    const expected = await ask(all, binMs);
    expect(expected.length).toBeGreaterThan(100);
    expect(await ask(file(`${binMs}.parquet`, encodeEpochs(level)), binMs)).toEqual(expected);
  }
  connection.closeSync();
  rmSync(folder, { recursive: true });
});
