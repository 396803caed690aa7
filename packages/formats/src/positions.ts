import { parse, type CastingContext, CsvError } from 'csv-parse/browser/esm/sync';
import { covarianceFault, type Geocentric } from '@stillmark/geodesy';
import { fail, problem, type Problem } from '@stillmark/problems';
import { parseInstant, type EpochRow, type Symmetric3, type TimeScale } from '@stillmark/records';
import { decodeText } from './text.ts';

const covarianceColumns = ['xx', 'xy', 'xz', 'yy', 'yz', 'zz'] as const;
const numberColumns = ['x', 'y', 'z', ...covarianceColumns] as const;
const positionColumns = ['station', 'time', ...numberColumns] as const;
type PositionColumn = (typeof positionColumns)[number];

export interface PositionsTask {
  readonly stream: string;
  readonly timeScale: TimeScale;
  /** Header of each column in the file. */
  readonly columns: Readonly<Record<PositionColumn, string>>;
  /** No epoch can be later than this, in milliseconds of UTC: the present, with a margin. */
  readonly latestMs: number;
  /** Approximate positions of the stations that may occur, metres. */
  readonly stations: ReadonlyMap<string, Geocentric>;
}

/** A row that was not taken: the problem says where and why, `text` is the row as it stands in the file. */
export interface RejectedRow {
  readonly problem: Problem;
  readonly line: number;
  readonly text: string;
}

export interface PositionsFile {
  readonly rows: readonly EpochRow[];
  readonly rejected: readonly RejectedRow[];
}

/** Further than this from its approximate position a station does not stand: unit, order of axes or name are wrong. Metres. */
const farAway = 100;

const numberPattern = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$/;

/**
 * Reads positions from CSV (RFC 4180; UTF-8, comma, header line): one epoch a row, geocentric coordinates in metres and
 * the six elements of their covariance in square metres, in declared columns; other columns are not looked at.
 *
 * A row that cannot be used is rejected with line, column and reason; the others are read. A last line without a line end
 * is rejected too: a file that was cut there would otherwise give a number with digits missing.
 *
 * @throws INPUT_NOT_TEXT, INPUT_EMPTY, INPUT_COLUMN where the file as a whole cannot be used
 */
export function readPositions(bytes: Uint8Array, file: string, task: PositionsTask): PositionsFile {
  const text = decodeText(bytes, file);
  const records = parseRecords(text, file);
  const [header, ...body] = records;
  if (!header)
    return fail('INPUT_EMPTY', 'the file is empty', {
      at: { file },
      hint: 'a header line and a line an epoch',
    });
  const index = locateColumns(header, file, task.columns);
  if (body.length === 0)
    fail('INPUT_EMPTY', 'the file has a header line and no rows', { at: { file, line: 1 } });

  const cutLine = /\n\s*$/.test(text) ? undefined : body.at(-1)?.line;
  const rows: EpochRow[] = [];
  const rejected: RejectedRow[] = [];
  for (const record of body) {
    const found = readRow(record, header.fields.length, index, file, task, record.line === cutLine);
    if ('code' in found) rejected.push({ problem: found, line: record.line, text: record.raw });
    else rows.push(found);
  }
  return { rows, rejected };
}

interface CsvRecord {
  readonly fields: readonly string[];
  readonly line: number;
  readonly raw: string;
}

function parseRecords(text: string, file: string): CsvRecord[] {
  try {
    const parsed = parse(text, {
      relaxColumnCount: true,
      relaxQuotes: true,
      skipEmptyLines: true,
      trim: true,
      info: true,
      raw: true,
    }) as unknown as { record: string[]; info: CastingContext; raw: string }[];
    return parsed.map(({ record, info, raw }) => {
      const shown = raw.replace(/[\r\n]+$/, '');
      // `lines` counts to the end of the record; a quoted field may span several.
      return {
        fields: record,
        line: info.lines - (shown.match(/\n/g)?.length ?? 0),
        raw: shown.replace(/^[\r\n]+/, ''),
      };
    });
  } catch (error) {
    if (!(error instanceof CsvError)) throw error;
    const line = typeof error['lines'] === 'number' ? { line: error['lines'] } : {};
    return fail('INPUT_ROW', `not valid CSV: ${error.message}`, {
      at: { file, ...line },
      hint: 'quotes that are closed (RFC 4180)',
    });
  }
}

function locateColumns(
  header: CsvRecord,
  file: string,
  columns: PositionsTask['columns'],
): ReadonlyMap<PositionColumn, number> {
  const missing: string[] = [];
  const index = new Map<PositionColumn, number>();
  for (const column of positionColumns) {
    const at = header.fields.indexOf(columns[column]);
    if (at < 0) missing.push(`${columns[column]} (${column})`);
    else index.set(column, at);
  }
  if (missing.length > 0) {
    fail('INPUT_COLUMN', `the file has no column ${missing.join(', ')}`, {
      at: { file, line: header.line, column: 1 },
      sourceLine: header.raw,
      hint: `the columns that the project file declares; the file has ${header.fields.join(', ')}`,
    });
  }
  return index;
}

function readRow(
  record: CsvRecord,
  width: number,
  index: ReadonlyMap<PositionColumn, number>,
  file: string,
  task: PositionsTask,
  cut: boolean,
): EpochRow | Problem {
  const { fields, line, raw } = record;
  const say = (code: Problem['code'], message: string, field: number, hint?: string): Problem =>
    problem(code, message, {
      at: { file, line, column: columnOf(raw, field) },
      sourceLine: raw,
      ...(hint ? { hint } : {}),
    });
  if (fields.length !== width) {
    const where = Math.min(fields.length, width) - 1;
    return cut
      ? say(
          'INPUT_CUT',
          `the file ends in the middle of a row: ${fields.length} of ${width} fields`,
          where,
          'the file delivered again, whole',
        )
      : say('INPUT_ROW', `the row has ${fields.length} fields, the header ${width}`, where);
  }
  if (cut) {
    return say(
      'INPUT_CUT',
      'the last row has no line end, so the file may be cut there',
      width - 1,
      'a line end after the last row, where it is whole',
    );
  }
  const field = (column: PositionColumn): string => fields[index.get(column)!]!;
  const place = (column: PositionColumn): number => index.get(column)!;

  const station = field('station');
  const near = task.stations.get(station);
  if (!near) {
    return say(
      'INPUT_STATION',
      `station '${station}' is not in the project`,
      place('station'),
      `one of ${[...task.stations.keys()].join(', ')}`,
    );
  }
  const time = parseInstant(field('time'), task.timeScale);
  if (!time.ok)
    return say(
      'INPUT_TIME',
      time.reason,
      place('time'),
      task.timeScale === 'UTC' ? '2026-03-01T06:00:00Z' : '2026-03-01T06:00:18',
    );
  if (time.ms > task.latestMs) {
    return say(
      'INPUT_TIME',
      `'${field('time')}' lies in the future`,
      place('time'),
      'a time that has passed; GPS time needs timeScale: GPS',
    );
  }
  for (const column of numberColumns) {
    if (!numberPattern.test(field(column)) || !Number.isFinite(Number(field(column)))) {
      return say(
        'INPUT_NUMBER',
        `'${field(column)}' is not a number (${column})`,
        place(column),
        'a number with a decimal point',
      );
    }
  }
  const number = (column: (typeof numberColumns)[number]): number => Number(field(column));
  const [x, y, z] = [number('x'), number('y'), number('z')];
  const distance = Math.hypot(x - near.x, y - near.y, z - near.z);
  if (distance > farAway) {
    return say(
      'INPUT_POSITION',
      `the position is ${distance >= 10_000 ? `${Math.round(distance / 1000)} km` : `${Math.round(distance)} m`} from where ${station} stands`,
      place('x'),
      'geocentric X, Y, Z in metres, and the right station',
    );
  }
  const covariance = covarianceColumns.map(number) as unknown as Symmetric3;
  const fault = covarianceFault(covariance) ?? implausibleVariance(covariance);
  if (fault !== undefined) {
    return say(
      'INPUT_COVARIANCE',
      `the covariance is not usable: ${fault}`,
      place('xx'),
      'square metres, in the same axes as the position',
    );
  }
  return { stream: task.stream, station, timeMs: time.ms, x, y, z, covariance };
}

/**
 * A variance that no processing can mean: zero is how exports write 'unknown', and would outweigh every other epoch of its
 * window; more than (1 km)^2 is no position.
 */
function implausibleVariance([xx, , , yy, , zz]: Symmetric3): string | undefined {
  const smallest = Math.min(xx, yy, zz);
  const largest = Math.max(xx, yy, zz);
  if (smallest === 0) return 'a variance is zero, which says that the position is known exactly';
  return largest > 1e6 ? `a variance of ${largest} is larger than a square kilometre` : undefined;
}

/** Column of the text, from 1, at which a field begins; 1 where quotes make that unsure. */
function columnOf(raw: string, field: number): number {
  if (raw.includes('"')) return 1;
  let at = 0;
  for (let i = 0; i < field; i++) {
    const comma = raw.indexOf(',', at);
    if (comma < 0) break;
    at = comma + 1;
  }
  return at + 1;
}
