import type { Geocentric } from '@stillmark/geodesy';
import { fail, problem, type Problem } from '@stillmark/problems';
import { gpsToUtc, type EpochRow, type Symmetric3, type TimeScale } from '@stillmark/records';
import type { RejectedRow } from './csv.ts';
import { LineSplitter } from './lines.ts';
import { earliestMs, placeFault, uncertaintyFault } from './plausible.ts';
import type { PositionsFile } from './positions.ts';

export interface SinexTask {
  readonly stream: string;
  readonly timeScale: TimeScale;
  /** Project stations by the code of their site in the file; where it is absent, codes are station ids, whatever the case. */
  readonly sites?: ReadonlyMap<string, string>;
  readonly latestMs: number;
  readonly stations: ReadonlyMap<string, Geocentric>;
}

interface Line {
  readonly number: number;
  readonly text: string;
}

/** One estimated coordinate. */
interface Parameter {
  readonly line: Line;
  readonly index: number;
  readonly axis: 0 | 1 | 2;
  readonly value: number;
  readonly deviation: number;
}

/** The three coordinates of a site in one solution, and what is known of their covariance. */
interface Site {
  readonly code: string;
  readonly line: Line;
  readonly epoch: string;
  readonly parameters: Parameter[];
  /** Elements by `row column` of the axes, row not before column. */
  readonly elements: Map<string, number>;
}

/**
 * Reads station positions and their covariances from SINEX (versions 1.00 to 2.10; IERS 2006, version 2.02, appendix I) as it comes in
 * pieces: blocks SOLUTION/ESTIMATE and SOLUTION/MATRIX_ESTIMATE (lower or upper triangle, covariances or correlations). Of the matrix only
 * what belongs to one site is kept, so that memory does not grow with its square. Without a matrix the standard deviations of the
 * estimates stand alone. Other parameters (velocities, orbits, Earth rotation) are passed over.
 */
export class SinexReader {
  readonly #file: string;
  readonly #task: SinexTask;
  readonly #lines: LineSplitter;
  readonly #sites = new Map<string, Site>();
  readonly #byIndex = new Map<number, { site: Site; axis: 0 | 1 | 2 }>();
  readonly #rejected: RejectedRow[] = [];
  #open: { readonly name: string; readonly head: Line } | undefined;
  /** Whether the block of estimates was read, and what form the matrix has. */
  #estimated = false;
  #kind: MatrixKind | undefined;
  /** Lines of a matrix that stands before the estimates to which its indices belong. */
  #early: Line[] = [];
  #last: Line = { number: 1, text: '' };

  constructor(file: string, task: SinexTask) {
    this.#file = file;
    this.#task = task;
    this.#lines = new LineSplitter(file, (text, number) => this.#line({ number, text }));
  }

  /** @throws INPUT_NOT_TEXT, INPUT_ROW where the file cannot be used */
  take(chunk: Uint8Array): void {
    this.#lines.take(chunk);
  }

  /** @throws INPUT_EMPTY, INPUT_CUT, INPUT_ROW where the file as a whole cannot be used */
  end(): PositionsFile {
    this.#lines.end();
    const last = this.#last;
    if (last.number === 1 && last.text === '') checkFirst(last, this.#file);
    if (!last.text.startsWith('%ENDSNX'))
      fail('INPUT_CUT', 'the file has no line %ENDSNX at its end, so it may be cut', {
        at: { file: this.#file, line: last.number, column: 1 },
        sourceLine: last.text.slice(0, 80),
        hint: 'the file delivered again, whole',
      });
    if (this.#open)
      fail('INPUT_CUT', `block ${this.#open.name} is not closed`, {
        at: { file: this.#file, line: this.#open.head.number, column: 1 },
        hint: `-${this.#open.name}`,
      });
    if (!this.#estimated)
      fail('INPUT_EMPTY', 'the file has no block SOLUTION/ESTIMATE', {
        at: { file: this.#file },
        hint: 'a SINEX file with estimated station coordinates',
      });
    for (const line of this.#early) takeElements(line, this.#byIndex, this.#reject);
    const rows: EpochRow[] = [];
    for (const site of this.#sites.values()) {
      const row = rowOf(site, this.#kind, this.#task);
      if (!row) continue;
      if ('code' in row) this.#reject(site.line, row.code, row.message, row.hint);
      else rows.push(row);
    }
    return { rows, rejected: this.#rejected };
  }

  readonly #reject: Reject = (line, code, message, hint, column = 1) =>
    this.#rejected.push({
      problem: problem(code, message, {
        at: { file: this.#file, line: line.number, column },
        sourceLine: line.text,
        hint,
      }),
      line: line.number,
      text: line.text,
    });

  /** Blocks go from `+NAME` to `-NAME`; comments (`*`) are left out. */
  #line(line: Line): void {
    const { text } = line;
    if (line.number === 1) checkFirst(line, this.#file);
    if (text.trim() !== '') this.#last = line;
    if (text.startsWith('+')) this.#begin(line);
    else if (text.startsWith('-')) this.#close(line);
    else if (this.#open && text.startsWith(' ') && text.trim() !== '') this.#row(this.#open.name, line);
  }

  #begin(line: Line): void {
    if (this.#open)
      fail('INPUT_ROW', `block ${this.#open.name} is not closed before another one begins`, {
        at: { file: this.#file, line: line.number, column: 1 },
        hint: `-${this.#open.name}`,
      });
    const name = blockName(line);
    this.#open = { name, head: line };
    if (isMatrix(name)) this.#kind ??= matrixKind(name, line, this.#file);
  }

  #close(line: Line): void {
    const name = blockName(line);
    const open = this.#open;
    // Some write the form of a matrix at its head only.
    if (!open || !(open.name === name || open.name.startsWith(`${name} `)))
      fail('INPUT_ROW', `block ${name} ends where it was not begun`, {
        at: { file: this.#file, line: line.number, column: 1 },
        hint: open ? `-${open.name}` : `+${name}`,
      });
    if (name === estimates) this.#estimated = true;
    this.#open = undefined;
  }

  #row(block: string, line: Line): void {
    if (block === estimates) {
      if (!this.#estimated) takeEstimate(line, this.#sites, this.#byIndex, this.#reject);
    } else if (isMatrix(block)) {
      if (this.#estimated) takeElements(line, this.#byIndex, this.#reject);
      else this.#early.push(line);
    }
  }
}

const estimates = 'SOLUTION/ESTIMATE';
const isMatrix = (name: string): boolean => name.startsWith('SOLUTION/MATRIX_ESTIMATE');
const blockName = ({ text }: Line): string => text.slice(1).trim().replace(/\s+/g, ' ');

/** A file that is there as a whole: see {@link SinexReader}. */
export function readSinex(bytes: Uint8Array, file: string, task: SinexTask): PositionsFile {
  const reader = new SinexReader(file, task);
  reader.take(bytes);
  return reader.end();
}

/** The first line says that it is SINEX. */
function checkFirst({ text, number }: Line, file: string): void {
  if (!/^%=SNX\s+[12]\.\d\d/.test(text))
    fail('INPUT_ROW', 'the file does not begin as SINEX of version 1 or 2 does', {
      at: { file, line: number, column: 1 },
      sourceLine: text.slice(0, 80),
      hint: '%=SNX 2.02 ...',
    });
}

type Reject = (line: Line, code: Problem['code'], message: string, hint: string, column?: number) => unknown;

// Index, type, site, point, solution (may be blank), reference epoch, unit, constraint (may be blank), value, standard deviation.
const estimateForm =
  /^\s*(\d+)\s+([A-Za-z0-9_]+)\s+(\S+)\s+(\S+)\s+(?:(\S+)\s+)?(\d{2}:\d{3}:\d{5})\s+(\S+)\s+(?:([0-9A-Za-z-])\s+)?([-+.\dEeDd]+)\s+([-+.\dEeDd]+)\s*$/;
const axesOf: Readonly<Record<string, 0 | 1 | 2>> = { STAX: 0, STAY: 1, STAZ: 2 };

function takeEstimate(
  line: Line,
  sites: Map<string, Site>,
  byIndex: Map<number, { site: Site; axis: 0 | 1 | 2 }>,
  reject: Reject,
): void {
  const type = line.text.trim().split(/\s+/)[1];
  const axis = type === undefined ? undefined : axesOf[type];
  if (axis === undefined) return;
  const match = estimateForm.exec(line.text);
  const [, index, , code, point, solution = '', epoch, unit, , value, deviation] = match ?? [];
  const numbers = [value, deviation].map(fortran);
  if (!match || numbers.some((v) => v === undefined)) {
    reject(
      line,
      'INPUT_ROW',
      'not a line of SOLUTION/ESTIMATE',
      'index, type, site, point, solution, epoch, unit, constraint, value, standard deviation',
    );
    return;
  }
  if (unit !== 'm') {
    reject(line, 'INPUT_NUMBER', `the unit of ${type} is '${unit!}'`, 'm', line.text.indexOf(unit!) + 1);
    return;
  }
  const key = `${code!} ${point!} ${solution} ${epoch!}`;
  let site = sites.get(key);
  if (!site)
    sites.set(
      key,
      (site = { code: code!, line, epoch: epoch!, parameters: [], elements: new Map<string, number>() }),
    );
  const known = byIndex.has(Number(index)) || site.parameters.some((p) => p.axis === axis);
  if (known) {
    reject(line, 'INPUT_ROW', `${type} of ${code!} stands twice, or its index does`, 'each parameter once');
    return;
  }
  site.parameters.push({ line, index: Number(index), axis, value: numbers[0]!, deviation: numbers[1]! });
  byIndex.set(Number(index), { site, axis });
}

/** A number as Fortran writes it: `.918D+6` too. */
function fortran(text: string | undefined): number | undefined {
  if (text === undefined || !/^[-+]?(?:\d+\.?\d*|\.\d+)(?:[EeDd][-+]?\d{1,3})?$/.test(text)) return undefined;
  const value = Number(text.replace(/[Dd]/, 'E'));
  return Number.isFinite(value) ? value : undefined;
}

function takeElements(
  line: Line,
  byIndex: ReadonlyMap<number, { site: Site; axis: 0 | 1 | 2 }>,
  reject: Reject,
): void {
  const [row, first, ...values] = line.text.trim().split(/\s+/);
  if (!/^\d+$/.test(row ?? '') || !/^\d+$/.test(first ?? '') || values.length < 1 || values.length > 3) {
    reject(
      line,
      'INPUT_ROW',
      'not a line of SOLUTION/MATRIX_ESTIMATE',
      'row, column, and up to three values',
    );
    return;
  }
  const own = byIndex.get(Number(row));
  if (!own) return;
  values.forEach((text, k) => {
    const other = byIndex.get(Number(first) + k);
    if (other?.site !== own.site) return;
    const value = fortran(text);
    if (value === undefined)
      reject(
        line,
        'INPUT_NUMBER',
        `'${text}' is not a number`,
        'such as 0.12345678901234E-05',
        line.text.indexOf(text) + 1,
      );
    else own.site.elements.set(elementKey(own.axis, other.axis), value);
  });
}

const elementKey = (a: number, b: number): string => `${Math.max(a, b)} ${Math.min(a, b)}`;

type MatrixKind = 'COVA' | 'CORR';

function matrixKind(name: string, head: Line, file: string): MatrixKind {
  const [, , kind] = name.split(' ');
  if (kind === 'COVA' || kind === 'CORR') return kind;
  return fail(
    'INPUT_ROW',
    `the matrix of the estimates is of the form '${name.replace('SOLUTION/MATRIX_ESTIMATE', '').trim()}'`,
    {
      at: { file, line: head.number, column: 1 },
      sourceLine: head.text,
      hint: 'L or U, and COVA or CORR; normal equations (INFO) are not turned round here',
    },
  );
}

interface Refused {
  readonly code: Problem['code'];
  readonly message: string;
  readonly hint: string;
}

/** Undefined for a site that is not asked for. */
function rowOf(site: Site, kind: MatrixKind | undefined, task: SinexTask): EpochRow | Refused | undefined {
  const station = task.sites
    ? task.sites.get(site.code)
    : [...task.stations.keys()].find((id) => id.toLowerCase() === site.code.toLowerCase());
  if (station === undefined)
    return task.sites
      ? undefined
      : {
          code: 'INPUT_STATION',
          message: `site '${site.code}' is not in the project`,
          hint: `one of ${[...task.stations.keys()].join(', ')}; or sites: of the stream says which is which`,
        };
  const near = task.stations.get(station)!;
  const [x, y, z] = [0, 1, 2].map((axis) => site.parameters.find((p) => p.axis === axis));
  if (!x || !y || !z)
    return {
      code: 'INPUT_ROW',
      message: `of ${site.code} not all of STAX, STAY and STAZ are there`,
      hint: 'the three of them',
    };
  const time = timeOf(site.epoch, task);
  if (typeof time !== 'number') return time;
  const position = { x: x.value, y: y.value, z: z.value };
  const elsewhere = placeFault(position, near, station);
  if (elsewhere !== undefined)
    return { code: 'INPUT_POSITION', message: elsewhere, hint: 'the right site for the station' };
  const covariance = covarianceOf(site, [x, y, z], kind);
  const fault = uncertaintyFault(covariance);
  if (fault !== undefined)
    return {
      code: 'INPUT_COVARIANCE',
      message: `the covariance of ${site.code} is not usable: ${fault}`,
      hint: 'a matrix of estimates in square metres',
    };
  return { stream: task.stream, station, timeMs: time, ...position, covariance };
}

/** Elements that a file leaves out are zero; correlations come with standard deviations on the diagonal. */
function covarianceOf(
  { elements }: Site,
  parameters: readonly [Parameter, Parameter, Parameter],
  kind: MatrixKind | undefined,
): Symmetric3 {
  const raw = (a: number, b: number): number => elements.get(elementKey(a, b)) ?? 0;
  const deviation = (a: number): number =>
    kind === 'CORR' ? raw(a, a) : kind === 'COVA' ? 1 : parameters[a]!.deviation;
  const of = (a: number, b: number): number => {
    if (kind === 'COVA') return raw(a, b);
    const correlation = a === b ? 1 : kind === 'CORR' ? raw(a, b) : 0;
    return correlation * deviation(a) * deviation(b);
  };
  return [of(0, 0), of(0, 1), of(0, 2), of(1, 1), of(1, 2), of(2, 2)];
}

/** `YY:DDD:SSSSS`, years to 50 of this century and later ones of the last. */
function timeOf(text: string, { timeScale, latestMs }: SinexTask): number | Refused {
  const [yy, day, second] = text.split(':').map(Number) as [number, number, number];
  const year = yy <= 50 ? 2000 + yy : 1900 + yy;
  const days = new Date(Date.UTC(year, 1, 29)).getUTCMonth() === 1 ? 366 : 365;
  if (day < 1 || day > days || second > 86_400)
    return { code: 'INPUT_TIME', message: `'${text}' is not a time of the calendar`, hint: 'YY:DDD:SSSSS' };
  const ms = Date.UTC(year, 0, 1) + ((day - 1) * 86_400 + second) * 1000;
  const utc = timeScale === 'GPS' ? gpsToUtc(ms) : ms;
  if (utc > latestMs)
    return { code: 'INPUT_TIME', message: `'${text}' lies in the future`, hint: 'a time that has passed' };
  if (utc <= earliestMs)
    return {
      code: 'INPUT_TIME',
      message: `'${text}' lies before the first satellite`,
      hint: 'the reference epoch of the solution',
    };
  return utc;
}
