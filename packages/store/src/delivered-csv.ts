import type { DuckDBConnection } from '@duckdb/node-api';
import { quoted, rowsOf } from './database.ts';

const numbers = ['x', 'y', 'z', 'xx', 'xy', 'xz', 'yy', 'yz', 'zz'] as const;

/** A delivered file of positions, as far as it can be told without reading its rows one by one. */
export interface DeliveredCsv {
  /** Absolute path. */
  readonly path: string;
  readonly stream: string;
  /** True where an underscore is in the rows: the database would take one in a number for a separator of thousands. */
  readonly underscores: boolean;
  /** Names of all columns, as the header line has them. */
  readonly header: readonly string[];
  /** Header of each column that is read. */
  readonly columns: Readonly<Record<'station' | 'time' | (typeof numbers)[number], string>>;
  /** What the numbers are multiplied with to be metres and square metres. */
  readonly metres: number;
  readonly squareMetres: number;
  /** Seconds by which the times of the file are ahead of UTC; they carry the letter Z where it is 0. */
  readonly aheadSeconds: number;
  /** Epochs are later than the one and not later than the other, milliseconds of UTC. */
  readonly earliestMs: number;
  readonly latestMs: number;
  readonly stations: ReadonlyMap<string, { readonly x: number; readonly y: number; readonly z: number }>;
  /** Metres from where its station stands, and largest variance: what is not well within is left to the reader of rows. */
  readonly farAway: number;
  readonly largestVariance: number;
}

export interface StagedRows {
  readonly rows: number;
  readonly firstMs: number;
  readonly lastMs: number;
}

/**
 * Reads a file of positions into the table `staged` in one go, where every row of it is plainly good; or only looks whether it is.
 *
 * This is the fast lane for the files that come every day. It decides nothing: where a single field is missing, odd or near a
 * limit it answers undefined, what was staged counts for nothing, and the reader of rows judges the file, line by line.
 */
export async function stageDelivered(
  db: DuckDBConnection,
  file: DeliveredCsv,
  keep = true,
): Promise<StagedRows | undefined> {
  const field = (name: string): string => `f${file.header.indexOf(name)}`;
  const numeric = new Set(numbers.map((name) => field(file.columns[name])));
  const types = file.header
    .map((_, i) => `f${i}: '${numeric.has(`f${i}`) && !file.underscores ? 'DOUBLE' : 'VARCHAR'}'`)
    .join(', ');
  const scaled = (name: (typeof numbers)[number]): string => {
    const factor = name.length === 1 ? file.metres : file.squareMetres;
    const text = field(file.columns[name]);
    const value = file.underscores
      ? `CASE WHEN NOT contains(${text}, '_') THEN TRY_CAST(${text} AS DOUBLE) END`
      : text;
    return `${value}${factor === 1 ? '' : ` * ${factor}`} AS ${name}`;
  };
  const time = field(file.columns.time);
  const pattern = `\\d{4}-\\d{2}-\\d{2}T([01]\\d|2[0-3]):[0-5]\\d:[0-5]\\d${file.aheadSeconds === 0 ? 'Z' : ''}`;
  const delivered = `SELECT ${field(file.columns.station)} AS station,
        CASE WHEN regexp_full_match(${time}, ${quoted(pattern)})
          THEN TRY_CAST(${time} AS TIMESTAMP) - INTERVAL ${file.aheadSeconds} SECOND END AS time,
        ${numbers.map(scaled).join(', ')}
      FROM read_csv(${quoted(file.path)}, columns = {${types}}, auto_detect = false, header = true, delim = ',',
        quote = '', escape = '', new_line = '\\n', strict_mode = true, null_padding = false, ignore_errors = false)`;
  await db.run('CREATE OR REPLACE TEMP TABLE standing (station VARCHAR, sx DOUBLE, sy DOUBLE, sz DOUBLE)');
  const places = [...file.stations].map(
    ([id, { x, y, z }]) => `(${quoted(id)}, ${x}::DOUBLE, ${y}::DOUBLE, ${z}::DOUBLE)`,
  );
  await db.run(`INSERT INTO standing VALUES ${places.join(', ')}`);
  const finite = numbers.map((name) => `isfinite(${name})`).join(' AND ');
  const plain = `time IS NOT NULL AND ${finite}
    AND time > make_timestamp_ms(${Math.ceil(file.earliestMs)}) AND time <= make_timestamp_ms(${Math.floor(file.latestMs)})
    AND sqrt((x - sx) * (x - sx) + (y - sy) * (y - sy) + (z - sz) * (z - sz)) < ${0.99 * file.farAway}
    AND least(xx, yy, zz) > 0 AND greatest(xx, yy, zz) < ${0.99 * file.largestVariance}
    AND xy * xy < xx * yy AND xz * xz < xx * zz AND yz * yz < yy * zz
    AND xx * (yy * zz - yz * yz) - xy * (xy * zz - yz * xz) + xz * (xy * yz - yy * xz) > 0`;
  // The columns of the store carry other names than those of the file.
  const named = `delivered(station, time, ${numbers.join(', ')})`;
  try {
    if (keep) {
      // Rows are put in order when they are merged.
      await db.run('SET preserve_insertion_order = false');
      await db.run(
        `INSERT INTO staged SELECT ${quoted(file.stream)}, station, time, ${numbers.join(', ')} FROM (${delivered})`,
      );
      await db.run('SET preserve_insertion_order = true');
    }
    const looked = keep ? `SELECT * EXCLUDE (stream) FROM staged` : delivered;
    const [[odd, rows, firstMs, lastMs]] = (await rowsOf(
      db,
      `SELECT count(*) FILTER ((${plain}) IS NOT TRUE), count(*), min(epoch_ms(time))::DOUBLE, max(epoch_ms(time))::DOUBLE
        FROM (${looked}) AS ${named} LEFT JOIN standing USING (station)`,
    )) as [[bigint, bigint, number, number]];
    return odd > 0n || rows === 0n ? undefined : { rows: Number(rows), firstMs, lastMs };
  } catch {
    return undefined;
  }
}
