import { DuckDBInstance, type DuckDBConnection } from '@duckdb/node-api';

/** Runs `work` on a database of its own in memory: by one thread, where rows must keep the order they are given in. */
export async function withDatabase<T>(work: (db: DuckDBConnection) => Promise<T>, threads = 1): Promise<T> {
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
