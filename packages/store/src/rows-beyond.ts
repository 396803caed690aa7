import { count, parquet, rowsOf, withDatabase } from './database.ts';

/** Whether every row of a file of a table can be read. */
export async function isReadable(file: string): Promise<boolean> {
  return withDatabase(async (db) => {
    try {
      await rowsOf(db, `SELECT max(hash(row)) FROM ${parquet(file)} AS row`);
      return true;
    } catch {
      return false;
    }
  });
}

/** How many rows of a file of a table another one does not hold. */
export async function rowsBeyond(file: string, other: string): Promise<number> {
  return withDatabase((db) => count(db, `(FROM ${parquet(file)} EXCEPT FROM ${parquet(other)})`));
}
