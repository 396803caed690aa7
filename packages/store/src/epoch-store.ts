import { availableParallelism } from 'node:os';
import type { DuckDBConnection } from '@duckdb/node-api';
import { fail } from '@stillmark/problems';
import type { EpochRow, EpochSeries } from '@stillmark/records';
import { eachChunk, engine, parquet, quoted, rowsOf, withDatabase } from './database.ts';
import { stageDelivered, type DeliveredCsv, type StagedRows } from './delivered-csv.ts';
import { MonthlyTable, type Added, type Partition } from './monthly-table.ts';

const values = ['x', 'y', 'z', 'cxx', 'cxy', 'cxz', 'cyy', 'cyz', 'czz'];

/** What is known of a delivered file once its rows are added. */
export interface Delivered extends Added {
  readonly firstMs: number;
  readonly lastMs: number;
}

/**
 * The epochs of a project on disk, a {@link MonthlyTable}. Two different positions for one station and time are both kept.
 */
export class EpochStore {
  readonly folder: string;
  readonly #table: MonthlyTable;

  /** @param folder made by the first {@link EpochStore.add} where it does not exist */
  constructor(folder: string) {
    this.folder = folder;
    this.#table = new MonthlyTable(folder, 'epochs', {
      stream: 'VARCHAR',
      station: 'VARCHAR',
      time: 'TIMESTAMP',
      ...Object.fromEntries(values.map((name) => [name, 'DOUBLE'])),
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

  async add(rows: readonly EpochRow[]): Promise<Added> {
    if (rows.length === 0) return { added: 0, repeated: 0 };
    const added = await this.#table.add(async (db) => {
      await stage(db, rows);
      return true;
    });
    return added!;
  }

  /** Adds a delivered file whole, or answers undefined where its rows must be read one by one. */
  async addDelivered(file: DeliveredCsv): Promise<Delivered | undefined> {
    let found: StagedRows | undefined;
    const added = await this.#table.add(async (db) => {
      found = await stageDelivered(db, file);
      return found !== undefined;
    });
    return added && { ...added, ...spanOf(found!) };
  }

  /** What {@link EpochStore.addDelivered} would add to an empty store; nothing is written. */
  async examineDelivered(file: DeliveredCsv): Promise<Delivered | undefined> {
    const found = await withDatabase((db) => stageDelivered(db, file, false), availableParallelism());
    return found && { added: 0, repeated: found.rows, ...spanOf(found) };
  }

  /** All epochs up to and including an instant, by stream and station; in order of time. */
  async read(untilMs: number): Promise<Map<string, Map<string, EpochSeries>>> {
    const files = await this.#table.files();
    const result = new Map<string, Map<string, EpochSeries>>();
    if (files.length === 0) return result;
    const selection = (path: string, options = ''): string =>
      `FROM read_parquet(${quoted(path)}, hive_partitioning = false${options}) WHERE epoch_ms(time) <= ${Math.floor(untilMs)}`;
    await withDatabase(async (db) => {
      // Files hold their rows in order of stream, station and time: counts say whose a row is, without its names.
      const blocks: { path: string; stream: string; station: string; rows: number }[] = [];
      for (const path of files) {
        const counts = await this.#table.guard(path, () =>
          rowsOf(
            db,
            `SELECT stream, station, count(*), min(file_row_number), max(file_row_number)
            ${selection(path, ', file_row_number = true')} GROUP BY stream, station ORDER BY min(file_row_number)`,
          ),
        );
        for (const [stream, station, rows, first, last] of counts) {
          if (Number(last) - Number(first) + 1 !== Number(rows)) {
            fail('STORE_UNREADABLE', 'a file of the store does not hold its rows in order', {
              at: { file: path },
              hint: 'the file as it was written',
            });
          }
          blocks.push({ path, stream: String(stream), station: String(station), rows: Number(rows) });
        }
      }
      const totals = new Map<string, { series: EpochSeries; filled: number }>();
      const key = (b: { stream: string; station: string }): string => `${b.stream} ${b.station}`;
      const sizes = new Map<string, number>();
      for (const block of blocks) sizes.set(key(block), (sizes.get(key(block)) ?? 0) + block.rows);
      for (const block of blocks) {
        if (totals.has(key(block))) continue;
        const series = emptySeries(block.stream, block.station, sizes.get(key(block))!);
        totals.set(key(block), { series, filled: 0 });
        let stations = result.get(block.stream);
        if (!stations) result.set(block.stream, (stations = new Map<string, EpochSeries>()));
        stations.set(block.station, series);
      }
      for (const path of files) {
        const own = blocks.filter((block) => block.path === path);
        let index = 0;
        let left = own[0]?.rows ?? 0;
        await this.#table.guard(path, () =>
          eachChunk(
            db,
            `SELECT epoch_ms(time)::DOUBLE, ${values.join(', ')} ${selection(path)}`,
            (columns, rows) => {
              for (let from = 0; from < rows;) {
                while (left === 0) left = own[++index]!.rows;
                const n = Math.min(left, rows - from);
                const target = totals.get(key(own[index]!))!;
                fill(target.series, target.filled, columns, from, n);
                target.filled += n;
                left -= n;
                from += n;
              }
            },
          ),
        );
      }
    });
    return result;
  }

  /** Time of the newest epoch of any stream, or undefined where there is none. */
  async newest(): Promise<number | undefined> {
    const files = await this.#table.files();
    if (files.length === 0) return undefined;
    return withDatabase(async (db) => {
      const [row] = await this.#table.guard(this.folder, () =>
        rowsOf(db, `SELECT max(epoch_ms(time))::DOUBLE FROM ${parquet(...files)}`),
      );
      return (row?.[0] as number | null) ?? undefined;
    });
  }
}

function spanOf({ firstMs, lastMs }: StagedRows): { firstMs: number; lastMs: number } {
  return { firstMs, lastMs };
}

function emptySeries(stream: string, station: string, n: number): EpochSeries {
  return {
    stream,
    station,
    timesMs: new Float64Array(n),
    xyz: new Float64Array(3 * n),
    covariance: new Float64Array(6 * n),
  };
}

/** Puts `n` rows of a chunk, from row `from` on, behind the first `at` epochs of a series. */
function fill(
  { timesMs, xyz, covariance }: EpochSeries,
  at: number,
  columns: readonly (readonly number[])[],
  from: number,
  n: number,
): void {
  const [times, ...rest] = columns;
  for (let i = 0; i < n; i++) timesMs[at + i] = times![from + i]!;
  for (let k = 0; k < 3; k++) {
    const column = rest[k]!;
    for (let i = 0; i < n; i++) xyz[3 * (at + i) + k] = column[from + i]!;
  }
  for (let k = 0; k < 6; k++) {
    const column = rest[3 + k]!;
    for (let i = 0; i < n; i++) covariance[6 * (at + i) + k] = column[from + i]!;
  }
}

async function stage(db: DuckDBConnection, rows: readonly EpochRow[]): Promise<void> {
  const { DuckDBTimestampValue } = await engine();
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
