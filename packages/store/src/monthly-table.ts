import { existsSync } from 'node:fs';
import { mkdir, readdir, rm } from 'node:fs/promises';
import { availableParallelism } from 'node:os';
import { join } from 'node:path';
import type { DuckDBConnection } from '@duckdb/node-api';
import { fail } from '@stillmark/problems';
import { count, parquet, quoted, rowsOf, withDatabase } from './database.ts';
import { partialEnding, putInPlace, sweepPartial } from './files.ts';
import { storeLock, withLock } from './lock.ts';

/** One file of the store: the rows of one month of UTC. */
export interface Partition {
  /** Path inside the store, with forward slashes. */
  readonly path: string;
  readonly month: string;
}

/** Tables of a store. */
export const tableNames = ['epochs', 'readings', 'tracking'] as const;
export type TableName = (typeof tableNames)[number];

export interface Added {
  readonly added: number;
  /** Rows that stood in the store already, to the last bit. */
  readonly repeated: number;
}

/**
 * A table on disk: Parquet, a file for each month of UTC, readable in place by any Parquet reader as a hive partitioned table
 * (`epochs/month=2026-03/epochs.parquet`).
 *
 * Append-only and idempotent: a row that stands already is not added again. The bytes depend on the rows alone, not on their
 * order or on how they were delivered: each file is written by one thread in a total order of its rows.
 */
export class MonthlyTable {
  readonly folder: string;
  readonly name: TableName;
  /** Names of the columns in the order of the rows; one is `time`. */
  readonly columns: string;
  /** Those up to `time`, which usually tell rows apart. */
  readonly #key: string;
  /** All of them, a zero without its sign: rows that differ by that alone are one row. */
  readonly #unsigned: string;
  readonly #definition: string;

  /** @param columns names and types of the columns, of which `time` is a TIMESTAMP */
  constructor(folder: string, name: TableName, columns: Readonly<Record<string, string>>) {
    this.folder = folder;
    this.name = name;
    const names = Object.keys(columns);
    this.columns = names.join(', ');
    this.#key = names.slice(0, names.indexOf('time') + 1).join(', ');
    this.#unsigned = Object.entries(columns)
      .map(([column, type]) => (type === 'DOUBLE' ? `${column} + 0.0 AS ${column}` : column))
      .join(', ');
    this.#definition = Object.entries(columns)
      .map(([column, type]) => `${column} ${type}`)
      .join(', ');
  }

  async partitions(): Promise<Partition[]> {
    const folder = join(this.folder, this.name);
    if (!existsSync(folder)) return [];
    const months = (await readdir(folder)).filter((name) => /^month=\d{4}-\d{2}$/.test(name)).sort();
    return months
      .map((month) => ({
        path: `${this.name}/${month}/${this.name}.parquet`,
        month: month.slice('month='.length),
      }))
      .filter(({ path }) => existsSync(join(this.folder, path)));
  }

  /** The files of the table, in order of months. */
  async files(): Promise<string[]> {
    return (await this.partitions()).map(({ path }) => join(this.folder, path));
  }

  /**
   * Adds the rows that `stage` puts into the table `staged`; nothing where it answers false. A command that is stopped on the
   * way leaves each month as it was or with its new rows; adding the same rows again completes it.
   */
  async add(stage: (db: DuckDBConnection) => Promise<boolean>): Promise<Added | undefined> {
    await mkdir(this.folder, { recursive: true });
    return withLock(storeLock(this.folder), 'store', async () => {
      await mkdir(join(this.folder, this.name), { recursive: true });
      await sweepPartial(join(this.folder, this.name));
      return withDatabase(async (db) => {
        // Sorting may be done by many: no two rows are alike, so that there is one order. What is sorted is written by one, in that order.
        await db.run(`SET threads = ${availableParallelism()}`);
        await db.run(`CREATE TEMP TABLE staged (${this.#definition})`);
        if (!(await stage(db))) return undefined;
        const rows = await count(db, 'staged');
        const months = await rowsOf(
          db,
          `SELECT strftime(month, '%Y-%m') FROM (SELECT DISTINCT date_trunc('month', time) AS month FROM staged) ORDER BY month`,
        );
        let added = 0;
        for (const [month] of months) added += await this.#mergeMonth(db, String(month), months.length === 1);
        return { added, repeated: rows - added };
      });
    });
  }

  /** Adds the rows of a file of the same table from elsewhere. */
  async addFile(path: string): Promise<Added> {
    const added = await this.add(async (db) => {
      await this.guard(path, () => db.run(`INSERT INTO staged SELECT ${this.columns} FROM ${parquet(path)}`));
      return true;
    });
    return added!;
  }

  async #mergeMonth(db: DuckDBConnection, month: string, only: boolean): Promise<number> {
    const folder = join(this.folder, this.name, `month=${month}`);
    const place = join(folder, `${this.name}.parquet`);
    await mkdir(folder, { recursive: true });
    const stands = existsSync(place);
    const standing = stands ? `SELECT ${this.columns} FROM ${parquet(place)} UNION ALL` : '';
    const selection = only ? '' : `WHERE date_trunc('month', time) = DATE ${quoted(`${month}-01`)}`;
    const both = `(${standing} SELECT ${this.columns} FROM staged ${selection})`;
    await this.guard(place, async () => {
      // Where the key tells all rows apart, it puts them into the one order that they have, and none is there twice.
      const [alike] = await rowsOf(
        db,
        `SELECT 1 FROM ${both} GROUP BY ${this.#key} HAVING count(*) > 1 LIMIT 1`,
      );
      await db.run(
        `CREATE OR REPLACE TEMP TABLE merged AS SELECT ${alike ? 'DISTINCT' : ''} ${this.#unsigned} FROM ${both}
          ORDER BY ${alike ? this.columns : this.#key}`,
      );
    });
    const before = stands ? await count(db, parquet(place)) : 0;
    const after = await count(db, 'merged');
    if (after === before) return 0;
    await db.run('SET threads = 1');
    await this.#write(db, place + partialEnding);
    await db.run(`DROP TABLE merged`);
    await db.run(`SET threads = ${availableParallelism()}`);
    await putInPlace(place + partialEnding, place);
    return after - before;
  }

  /** @throws STORE_UNWRITABLE where the disk is full or may not be written; nothing of the file is left then */
  async #write(db: DuckDBConnection, path: string): Promise<void> {
    try {
      await db.run(`COPY (SELECT ${this.columns} FROM merged) TO ${quoted(path)}
        (FORMAT parquet, COMPRESSION zstd, ROW_GROUP_SIZE 122880)`);
    } catch (error) {
      await rm(path, { force: true });
      fail(
        'STORE_UNWRITABLE',
        `a file of the store cannot be written: ${(error as Error).message.split('\n')[0]}`,
        {
          at: { file: path },
          hint: 'room on the disk, and the right to write there; then the same command again, which goes on where this one stopped',
        },
      );
    }
  }

  /** Number of rows of each file, in the order given. */
  async rowCounts(partitions: readonly Partition[]): Promise<number[]> {
    return withDatabase(async (db) => {
      const counts: number[] = [];
      for (const { path } of partitions)
        counts.push(await this.guard(path, () => count(db, parquet(join(this.folder, path)))));
      return counts;
    });
  }

  /** @throws STORE_UNREADABLE where `work` fails on a file of the store */
  async guard<T>(file: string, work: () => Promise<T>): Promise<T> {
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
