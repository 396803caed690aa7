import type * as Engine from '@duckdb/node-api';
import type { DuckDBConnection } from '@duckdb/node-api';
import { fail } from '@stillmark/problems';

/**
 * The database engine, which carries native code; loaded when it is needed first, so that what needs no store runs without it.
 *
 * @throws STORE_ENGINE where it cannot be loaded
 */
export async function engine(): Promise<typeof Engine> {
  try {
    return await import('@duckdb/node-api');
  } catch (error) {
    return fail(
      'STORE_ENGINE',
      `the database engine cannot be loaded: ${(error as Error).message.split('\n')[0]}`,
      {
        hint: 'to install stillmark anew on this machine, with optional packages; there are builds for Linux (glibc), macOS and Windows',
      },
    );
  }
}

/** Runs `work` on a database of its own in memory: by one thread, where rows must keep the order they are given in. */
export async function withDatabase<T>(work: (db: DuckDBConnection) => Promise<T>, threads = 1): Promise<T> {
  const { DuckDBInstance } = await engine();
  const instance = await DuckDBInstance.create(':memory:', { threads: String(threads) });
  const db = await instance.connect();
  try {
    await db.run(`SET TimeZone = 'UTC'`);
    return await work(db);
  } finally {
    db.closeSync();
    instance.closeSync();
  }
}

/** Version of the engine, by a query: it is there, and its native code runs. */
export async function engineVersion(): Promise<string> {
  return withDatabase(async (db) => String((await rowsOf(db, 'SELECT version()'))[0]![0]));
}

export async function rowsOf(db: DuckDBConnection, sql: string): Promise<unknown[][]> {
  return (await db.runAndReadAll(sql)).getRows();
}

export async function count(db: DuckDBConnection, from: string): Promise<number> {
  return Number((await rowsOf(db, `SELECT count(*) FROM ${from}`))[0]![0]);
}

/** Hands the rows of a query to `take` in chunks of columns of numbers, in the order of the query. */
export async function eachChunk(
  db: DuckDBConnection,
  sql: string,
  take: (columns: readonly (readonly number[])[], rows: number) => void,
): Promise<void> {
  const result = await db.stream(sql);
  for (;;) {
    const chunk = await result.fetchChunk();
    if (!chunk || chunk.rowCount === 0) return;
    take(chunk.getColumns() as unknown as number[][], chunk.rowCount);
  }
}

export function parquet(...paths: readonly string[]): string {
  return `read_parquet([${paths.map(quoted).join(', ')}], hive_partitioning = false)`;
}

export function quoted(text: string): string {
  return `'${text.replaceAll("'", "''")}'`;
}
