import { DuckDBTimestampValue, type DuckDBConnection } from '@duckdb/node-api';
import type { TrackingRow } from '@stillmark/records';
import { parquet, rowsOf, withDatabase } from './database.ts';
import { MonthlyTable, type Added, type Partition } from './monthly-table.ts';

const numbers = ['intervalMs', 'epochs', 'tracked', 'above', 'expected', 'slips', 'cn0', 'multipath', 'pdop', 'positions', 'fixed'] as const; // prettier-ignore

/** What receivers tracked, hour by hour, on disk, a {@link MonthlyTable}; `time` is the first epoch of the hour. */
export class TrackingStore {
  readonly #table: MonthlyTable;

  constructor(folder: string) {
    this.#table = new MonthlyTable(folder, 'tracking', {
      station: 'VARCHAR',
      source: 'VARCHAR',
      time: 'TIMESTAMP',
      until: 'TIMESTAMP',
      signal: 'VARCHAR',
      satellites: 'VARCHAR',
      ...Object.fromEntries(numbers.map((name) => [name, 'DOUBLE'])),
    });
  }

  partitions(): Promise<Partition[]> {
    return this.#table.partitions();
  }

  rowCounts(partitions: readonly Partition[]): Promise<number[]> {
    return this.#table.rowCounts(partitions);
  }

  async add(rows: readonly TrackingRow[]): Promise<Added> {
    if (rows.length === 0) return { added: 0, repeated: 0 };
    const added = await this.#table.add(async (db) => {
      await stage(db, rows);
      return true;
    });
    return added!;
  }

  /** All rows of hours that begin up to and including an instant, in the order of station, source, time and signal. */
  async read(untilMs: number): Promise<TrackingRow[]> {
    const files = await this.#table.files();
    if (files.length === 0) return [];
    const rows = await withDatabase((db) =>
      this.#table.guard(files[0]!, () =>
        rowsOf(
          db,
          `SELECT station, source, epoch_ms(time)::DOUBLE, epoch_ms(until)::DOUBLE, signal, satellites, ${numbers.join(', ')}
          FROM ${parquet(...files)} WHERE epoch_ms(time) <= ${Math.floor(untilMs)}
          ORDER BY station, source, time, until, signal, epochs, satellites`,
        ),
      ),
    );
    return rows.map(([station, source, firstMs, lastMs, signal, satellites, ...values]) => ({
      station: station as string,
      source: source as string,
      firstMs: firstMs as number,
      lastMs: lastMs as number,
      signal: signal as string,
      satellites: satellites as string,
      ...(Object.fromEntries(numbers.map((name, i) => [name, values[i]])) as Record<
        (typeof numbers)[number],
        number
      >),
    }));
  }
}

async function stage(db: DuckDBConnection, rows: readonly TrackingRow[]): Promise<void> {
  const appender = await db.createAppender('staged');
  const instant = (ms: number): DuckDBTimestampValue => new DuckDBTimestampValue(BigInt(ms) * 1000n);
  for (const row of rows) {
    appender.appendVarchar(row.station);
    appender.appendVarchar(row.source);
    appender.appendTimestamp(instant(row.firstMs));
    appender.appendTimestamp(instant(row.lastMs));
    appender.appendVarchar(row.signal);
    appender.appendVarchar(row.satellites);
    for (const name of numbers) appender.appendDouble(row[name]);
    appender.endRow();
  }
  appender.closeSync();
}
