import type { DuckDBConnection, DuckDBTimestampValue } from '@duckdb/node-api';
import type { TrackingRow } from '@stillmark/records';
import { join } from 'node:path';
import { engine, parquet, rowsOf, withDatabase } from './database.ts';
import { MonthlyTable, type Added, type Partition } from './monthly-table.ts';

const numbers = ['intervalMs', 'epochs', 'tracked', 'above', 'expected', 'slips', 'cn0', 'multipath', 'pdop', 'positions', 'fixed'] as const; // prettier-ignore

/** What receivers tracked, hour by hour, on disk, a {@link MonthlyTable}; `time` is the first epoch of the hour. */
export class TrackingStore {
  readonly #table: MonthlyTable;

  constructor(folder: string) {
    this.#table = new MonthlyTable(folder, 'tracking', {
      station: 'VARCHAR',
      source: 'VARCHAR',
      manner: 'VARCHAR',
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

  addFile(path: string): Promise<Added> {
    return this.#table.addFile(path);
  }

  async add(rows: readonly TrackingRow[]): Promise<Added> {
    if (rows.length === 0) return { added: 0, repeated: 0 };
    const added = await this.#table.add(async (db) => {
      await stage(db, rows);
      return true;
    });
    return added!;
  }

  /** Rows of hours that begin after an instant, up to and including another; in the order of station, source, time and signal. */
  async read(fromMs: number, untilMs: number): Promise<TrackingRow[]> {
    const rows = await this.#query(
      fromMs,
      untilMs,
      `SELECT station, source, manner, epoch_ms(time)::DOUBLE, epoch_ms(until)::DOUBLE, signal, satellites, ${numbers.join(', ')}`,
      'ORDER BY station, source, time, until, signal, epochs, satellites, expected, manner',
    );
    return rows.map(([station, source, manner, firstMs, lastMs, signal, satellites, ...values]) => ({
      station: station as string,
      source: source as string,
      manner: manner as string,
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

  /** Which satellites stations tracked on which days (since 1970): one list a day, names with blanks between. */
  async seen(
    fromMs: number,
    untilMs: number,
  ): Promise<{ readonly station: string; readonly day: number; readonly satellites: string }[]> {
    const rows = await this.#query(
      fromMs,
      untilMs,
      `SELECT station, day, string_agg(DISTINCT satellite, ' ' ORDER BY satellite) FROM (
        SELECT station, floor(epoch_ms(time) / 86400000)::DOUBLE AS day, unnest(string_split(satellites, ' ')) AS satellite`,
      ') GROUP BY station, day ORDER BY station, day',
      'AND length(signal) = 1',
    );
    return rows.map(([station, day, satellites]) => ({
      station: station as string,
      day: day as number,
      satellites: satellites as string,
    }));
  }

  /** Only the months that the span touches are opened: a network writes millions of rows a year. */
  async #query(
    fromMs: number,
    untilMs: number,
    selection: string,
    order: string,
    condition = '',
  ): Promise<unknown[][]> {
    const month = (ms: number): string => new Date(Math.max(0, ms)).toISOString().slice(0, 7);
    const [first, last] = [month(fromMs), month(untilMs)];
    const files = (await this.#table.partitions())
      .filter((p) => p.month >= first && p.month <= last)
      .map(({ path }) => join(this.#table.folder, path));
    if (files.length === 0) return [];
    return withDatabase((db) =>
      this.#table.guard(files[0]!, () =>
        rowsOf(
          db,
          `${selection} FROM ${parquet(...files)}
          WHERE epoch_ms(time) > ${Math.floor(fromMs)} AND epoch_ms(time) <= ${Math.floor(untilMs)} ${condition} ${order}`,
        ),
      ),
    );
  }
}

async function stage(db: DuckDBConnection, rows: readonly TrackingRow[]): Promise<void> {
  const appender = await db.createAppender('staged');
  const { DuckDBTimestampValue: Timestamp } = await engine();
  const instant = (ms: number): DuckDBTimestampValue => new Timestamp(BigInt(ms) * 1000n);
  for (const row of rows) {
    appender.appendVarchar(row.station);
    appender.appendVarchar(row.source);
    appender.appendVarchar(row.manner);
    appender.appendTimestamp(instant(row.firstMs));
    appender.appendTimestamp(instant(row.lastMs));
    appender.appendVarchar(row.signal);
    appender.appendVarchar(row.satellites);
    for (const name of numbers) appender.appendDouble(row[name]);
    appender.endRow();
  }
  appender.closeSync();
}
