import { covarianceFault, type Geocentric } from '@stillmark/geodesy';
import type { Problem } from '@stillmark/problems';
import { parseInstant, type EpochRow, type Symmetric3, type TimeScale } from '@stillmark/records';
import { numberIn, readCsv, readRows, type RejectedRow, type Say } from './csv.ts';

const covarianceColumns = ['xx', 'xy', 'xz', 'yy', 'yz', 'zz'] as const;
const numberColumns = ['x', 'y', 'z', ...covarianceColumns] as const;
type PositionColumn = 'station' | 'time' | (typeof numberColumns)[number];

export interface PositionsTask {
  readonly stream: string;
  readonly timeScale: TimeScale;
  /** Header of each column in the file. */
  readonly columns: Readonly<Record<PositionColumn, string>>;
  readonly units: { readonly position: 'm' | 'mm'; readonly covariance: 'm2' | 'mm2' };
  /** No epoch can be later than this, in milliseconds of UTC: the present, with a margin. */
  readonly latestMs: number;
  /** Approximate positions of the stations that may occur, metres. */
  readonly stations: ReadonlyMap<string, Geocentric>;
}

export interface PositionsFile {
  readonly rows: readonly EpochRow[];
  readonly rejected: readonly RejectedRow[];
}

/** Further than this from its approximate position a station does not stand: unit, order of axes or name are wrong. Metres. */
export const farAway = 100;

/** Square metres: of a metre no processing is content, and millimetres that are told as metres are of that size. */
export const largestVariance = 1;

/** Milliseconds of UTC: earlier than any position that a satellite gave. */
export const earliestMs = Date.UTC(1980, 0, 6);

/** What the numbers of a file are multiplied with to be metres and square metres. */
export function factorsOf({ position, covariance }: PositionsTask['units']): {
  metres: number;
  squareMetres: number;
} {
  return { metres: position === 'm' ? 1 : 1e-3, squareMetres: covariance === 'm2' ? 1 : 1e-6 };
}

/**
 * Reads positions from CSV (RFC 4180; UTF-8, comma, header line): one epoch a row, geocentric coordinates and the six
 * elements of their covariance in declared columns and units; other columns are not looked at.
 *
 * A row that cannot be used is rejected with line, column and reason; the others are read. A last line without a line end
 * is rejected too: a file that was cut there would otherwise give a number with digits missing.
 *
 * @throws INPUT_NOT_TEXT, INPUT_EMPTY, INPUT_COLUMN, INPUT_ROW where the file as a whole cannot be used
 */
export function readPositions(bytes: Uint8Array, file: string, task: PositionsTask): PositionsFile {
  const csv = readCsv(bytes, file, task.columns);
  return readRows(csv, file, (field, place, say) => readRow(field, place, say, task));
}

function readRow(
  field: (column: PositionColumn) => string,
  place: (column: PositionColumn) => number,
  say: Say,
  task: PositionsTask,
): EpochRow | Problem {
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
  const time = timeIn(field('time'), place('time'), task, say);
  if (typeof time !== 'number') return time;
  for (const column of numberColumns) {
    if (numberIn(field(column)) === undefined) {
      return say(
        'INPUT_NUMBER',
        `'${field(column)}' is not a number (${column})`,
        place(column),
        'a number with a decimal point',
      );
    }
  }
  const { metres, squareMetres } = factorsOf(task.units);
  const [x, y, z] = (['x', 'y', 'z'] as const).map((column) => Number(field(column)) * metres) as [
    number,
    number,
    number,
  ];
  const distance = Math.hypot(x - near.x, y - near.y, z - near.z);
  if (distance > farAway) {
    return say(
      'INPUT_POSITION',
      `the position is ${distance >= 10_000 ? `${Math.round(distance / 1000)} km` : `${Math.round(distance)} m`} from where ${station} stands`,
      place('x'),
      `geocentric X, Y, Z in ${task.units.position}, and the right station`,
    );
  }
  const covariance = covarianceColumns.map(
    (column) => Number(field(column)) * squareMetres,
  ) as unknown as Symmetric3;
  const fault = covarianceFault(covariance) ?? implausibleVariance(covariance);
  if (fault !== undefined) {
    return say(
      'INPUT_COVARIANCE',
      `the covariance is not usable: ${fault}`,
      place('xx'),
      `${task.units.covariance === 'm2' ? 'square metres' : 'square millimetres'} as the project file declares, in the axes of the position`,
    );
  }
  return { stream: task.stream, station, timeMs: time, x, y, z, covariance };
}

/** The instant that a field holds, in milliseconds of UTC. */
export function timeIn(
  text: string,
  place: number,
  { timeScale, latestMs }: Pick<PositionsTask, 'timeScale' | 'latestMs'>,
  say: Say,
): number | Problem {
  const time = parseInstant(text, timeScale);
  if (!time.ok)
    return say(
      'INPUT_TIME',
      time.reason,
      place,
      timeScale === 'UTC' ? '2026-03-01T06:00:00Z' : '2026-03-01T06:00:18',
    );
  if (time.ms > latestMs) {
    return say(
      'INPUT_TIME',
      `'${text}' lies in the future`,
      place,
      'a time that has passed; GPS time needs timeScale: GPS',
    );
  }
  if (time.ms <= earliestMs)
    return say('INPUT_TIME', `'${text}' lies before the first satellite`, place, 'the year in four digits');
  return time.ms;
}

/**
 * A variance that no processing can mean: zero is how exports write 'unknown', and would outweigh every other epoch of its
 * window; a metre is how square millimetres look that are taken for square metres.
 */
function implausibleVariance([xx, , , yy, , zz]: Symmetric3): string | undefined {
  if (Math.min(xx, yy, zz) === 0) return 'a variance is zero, which says that the position is known exactly';
  const largest = Math.max(xx, yy, zz);
  if (largest <= largestVariance) return undefined;
  return `a standard deviation of ${Number(Math.sqrt(largest).toPrecision(2))} m is that of no monitoring; square millimetres need units: { covariance: mm2 }`;
}
