import { fail, type Problem } from '@stillmark/problems';
import { parseInstant } from '@stillmark/records';
import { numberIn, readCsv, readRows, type RejectedRow } from './csv.ts';

export interface PointsTask {
  /** The kind of coordinates, for messages. */
  readonly kind: string;
  /** Columns of the three coordinates. */
  readonly names: readonly [string, string, string];
  /** Columns of the covariances, which a file may have, square metres. */
  readonly covarianceNames: readonly string[];
  /** Those of other kinds, which would be taken for ours in the result. */
  readonly otherCovarianceNames: readonly string[];
}

/** Points of a CSV file: what is known of them in columns, and everything else as it stands there. */
export interface PointsFile {
  readonly header: readonly string[];
  /** All fields of each point. */
  readonly fields: readonly (readonly string[])[];
  /** Line of each point in the file. */
  readonly lines: readonly number[];
  /** Places of the coordinates in the header. */
  readonly at: readonly number[];
  readonly coordinates: Float64Array;
  readonly covarianceAt?: readonly number[];
  readonly covariances?: Float64Array;
  /** Decimal years or instants (milliseconds of UTC), and their place in the header. */
  readonly epochs?: { readonly kind: 'year' | 'instant'; readonly at: number; readonly values: Float64Array };
  readonly rejected: readonly RejectedRow[];
}

/**
 * Reads points from CSV (RFC 4180; UTF-8, comma, header line): the coordinates by the names of their kind, whatever the case of the
 * letters; the six elements of a covariance where the file has them; an `epoch` (decimal year) or a `time` (ISO 8601 with zone).
 * All other columns are carried along.
 *
 * @throws INPUT_NOT_TEXT, INPUT_EMPTY, INPUT_COLUMN, INPUT_ROW where the file as a whole cannot be used
 */
export function readPoints(bytes: Uint8Array, file: string, task: PointsTask): PointsFile {
  const named = (header: readonly string[], name: string): string | undefined =>
    header.find((field) => field.toLowerCase() === name.toLowerCase());
  const csv = readCsv<string>(bytes, file, (header) => {
    const lower = header.map((name) => name.toLowerCase());
    const twice = header.find((name, i) => lower.indexOf(name.toLowerCase()) !== i);
    if (twice !== undefined)
      fail('INPUT_COLUMN', `the file has two columns ${twice}`, {
        at: { file, line: 1, column: 1 },
        hint: 'each name once, whatever the case of its letters',
      });
    const missing = task.names.filter((name) => named(header, name) === undefined);
    if (missing.length > 0)
      fail('INPUT_COLUMN', `the file has no column ${missing.join(', ')} (${task.kind} coordinates)`, {
        at: { file, line: 1, column: 1 },
        hint: `columns ${task.names.join(', ')}; the file has ${header.join(', ')}`,
      });
    const covariances = task.covarianceNames.filter((name) => named(header, name) !== undefined);
    if (covariances.length > 0 && covariances.length < task.covarianceNames.length)
      fail('INPUT_COLUMN', `of a covariance the file has only ${covariances.join(', ')}`, {
        at: { file, line: 1, column: 1 },
        hint: `all of ${task.covarianceNames.join(', ')}, or none`,
      });
    const foreign = task.otherCovarianceNames.filter((name) => named(header, name) !== undefined);
    if (foreign.length === task.otherCovarianceNames.length)
      fail('INPUT_COLUMN', `the file has a covariance along other axes (${foreign.join(', ')})`, {
        at: { file, line: 1, column: 1 },
        hint: `${task.covarianceNames.join(', ')}, along the axes of ${task.kind} coordinates; or other names`,
      });
    if (named(header, 'epoch') !== undefined && named(header, 'time') !== undefined)
      fail('INPUT_COLUMN', 'the file has both a column epoch and a column time', {
        at: { file, line: 1, column: 1 },
        hint: 'one of them',
      });
    const used = [...task.names, ...covariances, 'epoch', 'time'].flatMap((name) => {
      const found = named(header, name);
      return found === undefined ? [] : [[name, found] as const];
    });
    return Object.fromEntries(used);
  });
  const has = (name: string): boolean => csv.index.has(name);
  const epochColumn = ['epoch', 'time'].find(has);
  const withCovariance = task.covarianceNames.every(has);
  const numbers = [
    ...task.names,
    ...(withCovariance ? task.covarianceNames : []),
    ...(epochColumn === 'epoch' ? ['epoch'] : []),
  ];
  // All values one after the other: a row that is rejected takes back its own.
  const values: number[] = [];
  const { rows, rejected } = readRows(csv, file, (field, place, say, record) => {
    const before = values.length;
    const reject = (problem: Problem): Problem => {
      values.length = before;
      return problem;
    };
    for (const name of numbers) {
      const value = numberIn(field(name));
      if (value === undefined)
        return reject(
          say(
            'INPUT_NUMBER',
            `'${field(name)}' is not a number (${name})`,
            place(name),
            'a number with a decimal point',
          ),
        );
      values.push(value);
    }
    if (epochColumn === 'time') {
      const time = parseInstant(field('time'));
      if (!time.ok) return reject(say('INPUT_TIME', time.reason, place('time'), '2026-03-01T06:00:00Z'));
      values.push(time.ms);
    }
    return record;
  });
  const stride = numbers.length + (epochColumn === 'time' ? 1 : 0);
  const column = (first: number, width: number): Float64Array => {
    const out = new Float64Array(width * rows.length);
    for (let i = 0; i < rows.length; i++)
      for (let k = 0; k < width; k++) out[width * i + k] = values[stride * i + first + k]!;
    return out;
  };
  const places = (names: readonly string[]): number[] => names.map((name) => csv.index.get(name)!);
  return {
    header: csv.header.fields,
    fields: rows.map(({ fields }) => fields),
    lines: rows.map(({ line }) => line),
    at: places(task.names),
    coordinates: column(0, 3),
    ...(withCovariance ? { covarianceAt: places(task.covarianceNames), covariances: column(3, 6) } : {}),
    ...(epochColumn === undefined
      ? {}
      : {
          epochs: {
            kind: epochColumn === 'epoch' ? 'year' : 'instant',
            at: csv.index.get(epochColumn)!,
            values: column(withCovariance ? 9 : 3, 1),
          },
        }),
    rejected,
  };
}
