import { existsSync } from 'node:fs';
import { mkdir, readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { DuckDBInstance, DuckDBTimestampValue, type DuckDBConnection } from '@duckdb/node-api';
import { fail } from '@stillmark/problems';
import type { EpochRow, EpochSeries } from '@stillmark/records';
import { partialEnding, putInPlace, sweepPartial } from './files.ts';
import { withLock } from './lock.ts';

/** One file of the store: the epochs of one month of UTC. */
export interface Partition {
  /** Path inside the store, with forward slashes. */
  readonly path: string;
  readonly month: string;
}

export interface Added {
  readonly added: number;
  /** Rows that stood in the store already, to the last bit. */
  readonly repeated: number;
}

const columns = 'stream, station, time, x, y, z, cxx, cxy, cxz, cyy, cyz, czz';

/**
 * The epochs of a project on disk: Parquet, a file for each month of UTC, readable in place by any Parquet reader as a hive
 * partitioned table (`epochs/month=2026-03/epochs.parquet`).
 *
 * Append-only and idempotent: a row that stands already is not added again; two different positions for one station and time
 * are both kept. The bytes depend on the rows alone, not on their order or on how they were delivered: each file is written
 * by one thread in a total order of its rows.
 */
export class EpochStore {
  readonly folder: string;

  /** @param folder made by the first {@link EpochStore.add} where it does not exist */
  constructor(folder: string) {
    this.folder = folder;
  }

  async partitions(): Promise<Partition[]> {
    const epochs = join(this.folder, 'epochs');
    if (!existsSync(epochs)) return [];
    const months = (await readdir(epochs)).filter((name) => /^month=\d{4}-\d{2}$/.test(name)).sort();
    return months
      .map((name) => ({ path: `epochs/${name}/epochs.parquet`, month: name.slice('month='.length) }))
      .filter(({ path }) => existsSync(join(this.folder, path)));
  }

  /**
   * Adds epochs. A command that is stopped on the way leaves each month as it was or with its new rows; adding the same
   * rows again completes it.
   */
  async add(rows: readonly EpochRow[]): Promise<Added> {
    if (rows.length === 0) return { added: 0, repeated: 0 };
    await mkdir(this.folder, { recursive: true });
    return withLock(this.folder, async () => {
      await sweepPartial(this.folder);
      return withDatabase(async (db) => {
        await stage(db, rows);
        const months = await values(
          db,
          `SELECT DISTINCT strftime(time, '%Y-%m') AS month FROM staged ORDER BY month`,
        );
        let added = 0;
        for (const month of months) added += await this.#mergeMonth(db, month);
        return { added, repeated: rows.length - added };
      });
    });
  }

  async #mergeMonth(db: DuckDBConnection, month: string): Promise<number> {
    const folder = join(this.folder, 'epochs', `month=${month}`);
    const place = join(folder, 'epochs.parquet');
    await mkdir(folder, { recursive: true });
    const standing = existsSync(place) ? `SELECT ${columns} FROM ${parquet(place)} UNION ALL` : '';
    await this.#guard(place, () =>
      db.run(`CREATE OR REPLACE TEMP TABLE merged AS SELECT DISTINCT ${columns} FROM (
        ${standing} SELECT ${columns} FROM staged WHERE strftime(time, '%Y-%m') = ${quoted(month)})`),
    );
    const before = existsSync(place) ? await count(db, parquet(place)) : 0;
    const after = await count(db, 'merged');
    if (after === before) return 0;
    await db.run(`COPY (SELECT ${columns} FROM merged ORDER BY ${columns}) TO ${quoted(place + partialEnding)}
      (FORMAT parquet, COMPRESSION zstd, ROW_GROUP_SIZE 122880)`);
    await putInPlace(place + partialEnding, place);
    return after - before;
  }

  /** All epochs of a stream up to and including an instant, by station; in order of time. */
  async read(stream: string, untilMs: number): Promise<Map<string, EpochSeries>> {
    const files = (await this.partitions()).map(({ path }) => join(this.folder, path));
    if (files.length === 0) return new Map();
    return withDatabase(async (db) => {
      const source = `read_parquet([${files.map(quoted).join(', ')}], hive_partitioning = false)`;
      const selection = `FROM ${source} WHERE stream = ${quoted(stream)} AND epoch_ms(time) <= ${Math.floor(untilMs)}`;
      const stations = await this.#guard(this.folder, () =>
        values(db, `SELECT DISTINCT station ${selection} ORDER BY station`),
      );
      const result = new Map<string, EpochSeries>();
      for (const station of stations) {
        const numbers = await columnsOf(
          db,
          `SELECT epoch_ms(time)::DOUBLE, x, y, z, cxx, cxy, cxz, cyy, cyz, czz ${selection} AND station = ${quoted(station)}
           ORDER BY ${columns}`,
          10,
        );
        result.set(station, toSeries(stream, station, numbers));
      }
      return result;
    });
  }

  /** Time of the newest epoch of a stream, or undefined where there is none. */
  async newest(stream: string): Promise<number | undefined> {
    const files = (await this.partitions()).map(({ path }) => join(this.folder, path));
    if (files.length === 0) return undefined;
    return withDatabase(async (db) => {
      const [column] = await this.#guard(this.folder, () =>
        columnsOf(
          db,
          `SELECT max(epoch_ms(time))::DOUBLE FROM read_parquet([${files.map(quoted).join(', ')}], hive_partitioning = false)
          WHERE stream = ${quoted(stream)} HAVING max(time) IS NOT NULL`,
          1,
        ),
      );
      return column?.[0];
    });
  }

  /** Number of rows of each file of the store, in the order given. */
  async rowCounts(partitions: readonly Partition[]): Promise<number[]> {
    return withDatabase(async (db) => {
      const counts: number[] = [];
      for (const { path } of partitions) {
        counts.push(await this.#guard(path, () => count(db, parquet(join(this.folder, path)))));
      }
      return counts;
    });
  }

  async #guard<T>(file: string, work: () => Promise<T>): Promise<T> {
    try {
      return await work();
    } catch (error) {
      return fail(
        'STORE_UNREADABLE',
        `a file of the store cannot be read: ${(error as Error).message.split('\n')[0]}`,
        {
          at: { file },
          hint: 'the file as it was written, and the right to read it; where it is damaged, a copy of it, or a store built again beside this one from all deliveries',
        },
      );
    }
  }
}

async function withDatabase<T>(work: (db: DuckDBConnection) => Promise<T>): Promise<T> {
  const instance = await DuckDBInstance.create(':memory:', { threads: '1' });
  const db = await instance.connect();
  try {
    await db.run(`SET TimeZone = 'UTC'`);
    return await work(db);
  } finally {
    db.closeSync();
    instance.closeSync();
  }
}

async function stage(db: DuckDBConnection, rows: readonly EpochRow[]): Promise<void> {
  await db.run(`CREATE TEMP TABLE staged (stream VARCHAR, station VARCHAR, time TIMESTAMP, x DOUBLE, y DOUBLE, z DOUBLE,
    cxx DOUBLE, cxy DOUBLE, cxz DOUBLE, cyy DOUBLE, cyz DOUBLE, czz DOUBLE)`);
  const appender = await db.createAppender('staged');
  for (const row of rows) {
    appender.appendVarchar(row.stream);
    appender.appendVarchar(row.station);
    appender.appendTimestamp(new DuckDBTimestampValue(BigInt(row.timeMs) * 1000n));
    for (const value of [row.x, row.y, row.z, ...row.covariance]) appender.appendDouble(value);
    appender.endRow();
  }
  appender.closeSync();
}

async function values(db: DuckDBConnection, sql: string): Promise<string[]> {
  const reader = await db.runAndReadAll(sql);
  return reader.getRows().map(([value]) => String(value));
}

async function count(db: DuckDBConnection, from: string): Promise<number> {
  const reader = await db.runAndReadAll(`SELECT count(*) FROM ${from}`);
  return Number(reader.getRows()[0]![0]);
}

/** DOUBLE columns of a query, whole. */
async function columnsOf(db: DuckDBConnection, sql: string, width: number): Promise<Float64Array[]> {
  const reader = await db.runAndReadAll(sql);
  return reader
    .getColumns()
    .slice(0, width)
    .map((column) => Float64Array.from(column as number[]));
}

function toSeries(stream: string, station: string, numbers: readonly Float64Array[]): EpochSeries {
  const [timesMs, ...rest] = numbers as [Float64Array, ...Float64Array[]];
  const n = timesMs.length;
  const interleave = (from: number, width: number): Float64Array => {
    const out = new Float64Array(width * n);
    for (let k = 0; k < width; k++) for (let i = 0; i < n; i++) out[width * i + k] = rest[from + k]![i]!;
    return out;
  };
  return { stream, station, timesMs, xyz: interleave(0, 3), covariance: interleave(3, 6) };
}

function parquet(path: string): string {
  return `read_parquet(${quoted(path)}, hive_partitioning = false)`;
}

function quoted(text: string): string {
  return `'${text.replaceAll("'", "''")}'`;
}
