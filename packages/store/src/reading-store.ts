import type { ReadingRow, ReadingSeries } from '@stillmark/records';
import { eachChunk, engine, parquet, rowsOf, withDatabase } from './database.ts';
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

  /** All readings up to and including an instant, by sensor, in order of time. */
  async read(untilMs: number): Promise<Map<string, ReadingSeries>> {
    const files = await this.#table.files();
    const result = new Map<string, ReadingSeries>();
    if (files.length === 0) return result;
    const selection = `FROM ${parquet(...files)} WHERE epoch_ms(time) <= ${Math.floor(untilMs)}`;
    await withDatabase((db) =>
      this.#table.guard(files[0]!, async () => {
        const times: number[] = [];
        const values: number[] = [];
        await eachChunk(
          db,
          `SELECT epoch_ms(time)::DOUBLE, value ${selection} ORDER BY sensor, time, value`,
          ([t, v]) => {
            times.push(...t!);
            values.push(...v!);
          },
        );
        // In that order, counts say whose a row is, without its name.
        const counts = await rowsOf(
          db,
          `SELECT sensor, count(*) ${selection} GROUP BY sensor ORDER BY sensor`,
        );
        let from = 0;
        for (const [sensor, rows] of counts) {
          const to = from + Number(rows);
          result.set(String(sensor), {
            timesMs: Float64Array.from(times.slice(from, to)),
            values: Float64Array.from(values.slice(from, to)),
          });
          from = to;
        }
      }),
    );
    return result;
  }
}
