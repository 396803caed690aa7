import type { ReadingRow, ReadingSeries } from '@stillmark/records';
import { eachChunk, engine, parquet, quoted, withDatabase } from './database.ts';
import { MonthlyTable, type Added, type Partition } from './monthly-table.ts';

/** The readings of a project's sensors on disk, a {@link MonthlyTable}. */
export class ReadingStore {
  readonly #table: MonthlyTable;

  constructor(folder: string) {
    this.#table = new MonthlyTable(folder, 'readings', {
      sensor: 'VARCHAR',
      time: 'TIMESTAMP',
      value: 'DOUBLE',
    });
  }

  partitions(): Promise<Partition[]> {
    return this.#table.partitions();
  }

  rowCounts(partitions: readonly Partition[]): Promise<number[]> {
    return this.#table.rowCounts(partitions);
  }

  addFile(path: string): Promise<Added> {
    return this.#table.addFile(path);
  }

  async add(rows: readonly ReadingRow[]): Promise<Added> {
    if (rows.length === 0) return { added: 0, repeated: 0 };
    const added = await this.#table.add(async (db) => {
      const { DuckDBTimestampValue } = await engine();
      const appender = await db.createAppender('staged');
      for (const row of rows) {
        appender.appendVarchar(row.sensor);
        appender.appendTimestamp(new DuckDBTimestampValue(BigInt(row.timeMs) * 1000n));
        appender.appendDouble(row.value);
        appender.endRow();
      }
      appender.closeSync();
      return true;
    });
    return added!;
  }

  /** All readings of a sensor up to and including an instant, in order of time. */
  async read(sensor: string, untilMs: number): Promise<ReadingSeries> {
    const files = await this.#table.files();
    const timesMs: number[] = [];
    const values: number[] = [];
    if (files.length > 0) {
      await withDatabase((db) =>
        this.#table.guard(files[0]!, () =>
          eachChunk(
            db,
            `SELECT epoch_ms(time)::DOUBLE, value FROM ${parquet(...files)}
            WHERE sensor = ${quoted(sensor)} AND epoch_ms(time) <= ${Math.floor(untilMs)} ORDER BY time, value`,
            ([times, readings]) => {
              timesMs.push(...times!);
              values.push(...readings!);
            },
          ),
        ),
      );
    }
    return { timesMs: Float64Array.from(timesMs), values: Float64Array.from(values) };
  }
}
