import { geocentricKind, type CoordinateKind, type Geocentric } from '@stillmark/geodesy';
import { ProblemError, type Problem } from '@stillmark/problems';
import type { EpochRow, Symmetric3, TimeScale } from '@stillmark/records';
import { readCsv, readRows, type RejectedRow, type Say } from './csv.ts';
import { DialectReader, type Dialect } from './dialect.ts';
import { earliestMs, placeFault, uncertaintyFault } from './plausible.ts';

/** What an uncertainty is made of: a covariance, or standard deviations of coordinates that are taken as uncorrelated. */
export type UncertaintyKind = 'covariance' | 'deviations';

export interface PositionsTask {
  readonly stream: string;
  readonly timeScale: TimeScale;
  /** The kind of the coordinates; angles are degrees in files. */
  readonly kind: CoordinateKind;
  /** Header of each column in the file. */
  readonly columns: Readonly<Record<'station' | 'time', string>> & {
    readonly coordinates: readonly [string, string, string];
    /** The covariance in the order of the kind, or three standard deviations, along its axes. */
    readonly uncertainty: readonly string[];
  };
  readonly uncertainty: UncertaintyKind;
  readonly units: {
    readonly position: 'm' | 'mm';
    readonly covariance: 'm2' | 'mm2';
    readonly deviation: 'm' | 'mm';
  };
  readonly dialect: Dialect;
  /** No epoch can be later than this, in milliseconds of UTC: the present, with a margin. */
  readonly latestMs: number;
  /** Approximate positions of the stations that may occur, metres. */
  readonly stations: ReadonlyMap<string, Geocentric>;
}

export interface PositionsFile {
  readonly rows: readonly EpochRow[];
  readonly rejected: readonly RejectedRow[];
}

/** What the numbers of a file are multiplied with to be metres and square metres. */
export function factorsOf({
  position,
  covariance,
}: Pick<PositionsTask['units'], 'position' | 'covariance'>): {
  metres: number;
  squareMetres: number;
} {
  return { metres: position === 'm' ? 1 : 1e-3, squareMetres: covariance === 'm2' ? 1 : 1e-6 };
}

/**
 * Reads positions from CSV (UTF-8, header line; RFC 4180 but for what the dialect says): one epoch a row, coordinates of one kind and
 * their uncertainty in declared columns and units; other columns are not looked at.
 *
 * A row that cannot be used is rejected with line, column and reason; the others are read. A last line without a line end
 * is rejected too: a file that was cut there would otherwise give a number with digits missing.
 *
 * @throws INPUT_NOT_TEXT, INPUT_EMPTY, INPUT_COLUMN, INPUT_ROW where the file as a whole cannot be used
 */
export function readPositions(bytes: Uint8Array, file: string, task: PositionsTask): PositionsFile {
  const { columns, kind, dialect, timeScale } = task;
  const uncertainty =
    task.uncertainty === 'covariance'
      ? kind.covarianceNames
      : (kind === geocentricKind ? kind.names : ['east', 'north', 'up']).map(
          (axis) => `deviation of ${axis}`,
        );
  const wanted: Record<string, string> = { station: columns.station, time: columns.time };
  kind.names.forEach((name, i) => (wanted[name] = columns.coordinates[i]!));
  uncertainty.forEach((name, i) => (wanted[name] = columns.uncertainty[i]!));
  const csv = readCsv<string>(bytes, file, wanted, dialect.delimiter);
  const reader = new RowReader(task, new DialectReader(dialect, timeScale), uncertainty);
  return readRows(csv, file, (field, place, say) => reader.read(field, place, say));
}

class RowReader {
  readonly #task: PositionsTask;
  readonly #text: DialectReader;
  readonly #uncertainty: readonly string[];
  /** What each number of a row is multiplied with: coordinates, then uncertainty. */
  readonly #factors: readonly number[];

  constructor(task: PositionsTask, text: DialectReader, uncertainty: readonly string[]) {
    const { kind, units } = task;
    const { metres, squareMetres } = factorsOf(units);
    const deviation = units.deviation === 'm' ? 1 : 1e-3;
    this.#task = task;
    this.#text = text;
    this.#uncertainty = uncertainty;
    this.#factors = [
      ...kind.angles.map((angle) => (angle ? Math.PI / 180 : metres)),
      ...uncertainty.map(() => (task.uncertainty === 'covariance' ? squareMetres : deviation)),
    ];
  }

  read(field: (name: string) => string, place: (name: string) => number, say: Say): EpochRow | Problem {
    const { stations, kind, stream } = this.#task;
    const station = field('station');
    const near = stations.get(station);
    if (!near) {
      return say(
        'INPUT_STATION',
        `station '${station}' is not in the project`,
        place('station'),
        `one of ${[...stations.keys()].join(', ')}`,
      );
    }
    const time = timeIn(field('time'), place('time'), this.#task, say, this.#text);
    if (typeof time !== 'number') return time;
    const numbers: number[] = [];
    for (const name of [...kind.names, ...this.#uncertainty]) {
      const value = this.#text.number(field(name));
      if (value === undefined) {
        return say(
          'INPUT_NUMBER',
          `'${field(name)}' is not a number (${name})`,
          place(name),
          this.#text.hints.number,
        );
      }
      numbers.push(value * this.#factors[numbers.length]!);
    }
    const position = this.#position(numbers, near, station, place, say);
    if ('code' in position) return position;
    const own = this.#along(numbers.slice(3));
    const fault = own === undefined ? 'one is negative' : uncertaintyFault(own);
    if (own === undefined || fault !== undefined)
      return say(
        'INPUT_COVARIANCE',
        `the ${this.#words()} not usable: ${fault}`,
        place(this.#uncertainty[0]!),
        this.#hint(),
      );
    const covariance = kind === geocentricKind ? own : kind.toGeocentricCovariance(own, position);
    return { stream, station, timeMs: time, ...position, covariance };
  }

  #position(
    [a, b, c]: readonly number[],
    near: Geocentric,
    station: string,
    place: (name: string) => number,
    say: Say,
  ): Geocentric | Problem {
    const { kind, units } = this.#task;
    const first = kind.names[0];
    let position: Geocentric;
    try {
      position = kind.toGeocentric([a!, b!, c!]);
    } catch (error) {
      if (!(error instanceof ProblemError)) throw error;
      return say('INPUT_POSITION', error.problems[0]!.message, place(first), `${kind.name} coordinates`);
    }
    const fault = placeFault(position, near, station);
    if (fault === undefined) return position;
    return say(
      'INPUT_POSITION',
      fault,
      place(first),
      kind === geocentricKind
        ? `geocentric X, Y, Z in ${units.position}, and the right station`
        : `${kind.names.join(', ')} in ${kind.units.join(', ')}, and the right station`,
    );
  }

  /** The covariance along the axes of the kind; undefined where a standard deviation is negative. */
  #along(values: readonly number[]): Symmetric3 | undefined {
    if (this.#task.uncertainty === 'covariance') return values as unknown as Symmetric3;
    const [a, b, c] = values as [number, number, number];
    return Math.min(a, b, c) < 0 ? undefined : [a * a, 0, 0, b * b, 0, c * c];
  }

  #words(): string {
    return this.#task.uncertainty === 'covariance' ? 'covariance is' : 'standard deviations are';
  }

  #hint(): string {
    const { uncertainty, units } = this.#task;
    if (uncertainty === 'deviations')
      return units.deviation === 'm'
        ? 'metres, as the project file declares; of millimetres `units: { deviation: mm }`'
        : 'millimetres, as the project file declares';
    return units.covariance === 'm2'
      ? 'square metres in the axes of the position, as the project file declares; of square millimetres `units: { covariance: mm2 }`'
      : 'square millimetres in the axes of the position, as the project file declares';
  }
}

/** The instant that a field holds, in milliseconds of UTC. */
export function timeIn(
  text: string,
  place: number,
  { timeScale, latestMs }: Pick<PositionsTask, 'timeScale' | 'latestMs'>,
  say: Say,
  reader: DialectReader,
): number | Problem {
  const time = reader.time(text, timeScale);
  if (!time.ok) return say('INPUT_TIME', time.reason, place, reader.hints.otherTime);
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
