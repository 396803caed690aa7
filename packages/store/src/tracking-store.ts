import type { DuckDBConnection, DuckDBTimestampValue } from '@duckdb/node-api';
import type { TrackingRow } from '@stillmark/records';
import { join } from 'node:path';
import { eachChunk, engine, parquet, rowsOf, withDatabase } from './database.ts';
import { MonthlyTable, type Added, type Partition } from './monthly-table.ts';

const words = ['station', 'source', 'manner', 'signal', 'satellites'] as const;
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
    const { files, within } = await this.#within(fromMs, untilMs);
    if (files.length === 0) return [];
    const rows: TrackingRow[] = [];
    await withDatabase((db) =>
      this.#table.guard(files[0]!, async () => {
        await db.run(`CREATE TEMP TABLE hours AS FROM ${parquet(...files)} WHERE ${within}`);
        // Few words, very often: each comes over once, and then its number.
        await db.run(
          `CREATE TYPE word AS ENUM (SELECT DISTINCT unnest([${words.join(', ')}]) AS word FROM hours ORDER BY word)`,
        );
        const known = await rowsOf(db, 'SELECT unnest(enum_range(NULL::word))::VARCHAR');
        const texts = known.map(([word]) => word as string);
        await eachChunk(
          db,
          `SELECT ${words.map((name) => `enum_code(${name}::word)`).join(', ')}, epoch_ms(time)::DOUBLE, epoch_ms(until)::DOUBLE, ${numbers.join(', ')}
          FROM hours ORDER BY station, source, time, until, signal, epochs, satellites, expected, manner`,
          (columns, n) => {
            for (let i = 0; i < n; i++) rows.push(rowOf(columns, i, texts));
          },
        );
      }),
    );
    return rows;
  }

  /** Which satellites stations tracked on which days (since 1970): one list a day, names with blanks between. */
  async seen(
    fromMs: number,
    untilMs: number,
  ): Promise<{ readonly station: string; readonly day: number; readonly satellites: string }[]> {
    const { files, within } = await this.#within(fromMs, untilMs);
    if (files.length === 0) return [];
    const rows = await withDatabase((db) =>
      this.#table.guard(files[0]!, () =>
        rowsOf(
          db,
          `SELECT station, day, string_agg(DISTINCT satellite, ' ' ORDER BY satellite) FROM (
            SELECT station, floor(epoch_ms(time) / 86400000)::DOUBLE AS day, unnest(string_split(satellites, ' ')) AS satellite
            FROM ${parquet(...files)} WHERE ${within} AND length(signal) = 1
          ) GROUP BY station, day ORDER BY station, day`,
        ),
      ),
    );
    return rows.map(([station, day, satellites]) => ({
      station: station as string,
      day: day as number,
      satellites: satellites as string,
    }));
  }

  /** Only the months that the span touches are opened: a network writes millions of rows a year. */
  async #within(fromMs: number, untilMs: number): Promise<{ files: string[]; within: string }> {
    const month = (ms: number): string => new Date(Math.max(0, ms)).toISOString().slice(0, 7);
    const [first, last] = [month(fromMs), month(untilMs)];
    return {
      files: (await this.#table.partitions())
        .filter((p) => p.month >= first && p.month <= last)
        .map(({ path }) => join(this.#table.folder, path)),
      within: `epoch_ms(time) > ${Math.floor(fromMs)} AND epoch_ms(time) <= ${Math.floor(untilMs)}`,
    };
  }
}

/** A row of a chunk whose columns are places of words among `texts`, the two instants, and numbers, each in their order. */
function rowOf(columns: readonly (readonly number[])[], i: number, texts: readonly string[]): TrackingRow {
  const word = (k: number): string => texts[columns[k]![i]!]!;
  const number = (k: number): number => columns[words.length + k]![i]!;
  return {
    station: word(0),
    source: word(1),
    manner: word(2),
    firstMs: number(0),
    lastMs: number(1),
    signal: word(3),
    satellites: word(4),
    intervalMs: number(2),
    epochs: number(3),
    tracked: number(4),
    above: number(5),
    expected: number(6),
    slips: number(7),
    cn0: number(8),
    multipath: number(9),
    pdop: number(10),
    positions: number(11),
    fixed: number(12),
  };
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
