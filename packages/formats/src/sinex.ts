import type { Geocentric } from '@stillmark/geodesy';
import { fail, problem, type Problem } from '@stillmark/problems';
import { gpsToUtc, type EpochRow, type Symmetric3, type TimeScale } from '@stillmark/records';
import type { RejectedRow } from './csv.ts';
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
 * Reads station positions and their covariances from SINEX (versions 1.00 to 2.10; IERS 2006, version 2.02, appendix I): blocks
 * SOLUTION/ESTIMATE and SOLUTION/MATRIX_ESTIMATE (lower or upper triangle, covariances or correlations). Of the matrix only what belongs to
 * one site is kept, so that memory does not grow with its square. Without a matrix the standard deviations of the estimates stand
 * alone. Other parameters (velocities, orbits, Earth rotation) are passed over.
 *
 * @throws INPUT_NOT_TEXT, INPUT_EMPTY, INPUT_CUT, INPUT_ROW where the file as a whole cannot be used
 */
export function readSinex(bytes: Uint8Array, file: string, task: SinexTask): PositionsFile {
  const lines = linesOf(textOf(bytes, file));
  checkFrame(lines, file);
  const sites = new Map<string, Site>();
  const byIndex = new Map<number, { site: Site; axis: 0 | 1 | 2 }>();
  const rejected: RejectedRow[] = [];
  const reject = (line: Line, code: Problem['code'], message: string, hint: string, column = 1): unknown =>
    rejected.push({
      problem: problem(code, message, {
        at: { file, line: line.number, column },
        sourceLine: line.text,
        hint,
      }),
      line: line.number,
      text: line.text,
    });
  const blocks = blocksOf(lines, file);
  const estimates = blocks.find(({ name }) => name === 'SOLUTION/ESTIMATE');
  if (!estimates)
    return fail('INPUT_EMPTY', 'the file has no block SOLUTION/ESTIMATE', {
      at: { file },
      hint: 'a SINEX file with estimated station coordinates',
    });
  for (const line of estimates.lines) takeEstimate(line, sites, byIndex, reject);
  const matrix = blocks.find(({ name }) => name.startsWith('SOLUTION/MATRIX_ESTIMATE'));
  const kind = matrix ? matrixKind(matrix.name, matrix.head, file) : undefined;
  if (matrix) for (const line of matrix.lines) takeElements(line, byIndex, reject);
  const rows: EpochRow[] = [];
  for (const site of sites.values()) {
    const row = rowOf(site, kind, task);
    if (!row) continue;
    if ('code' in row) reject(site.line, row.code, row.message, row.hint);
    else rows.push(row);
  }
  return { rows, rejected };
}

/** SINEX is ASCII; what stands in comments in another script must not stop anybody. */
function textOf(bytes: Uint8Array, file: string): string {
  if (bytes.includes(0))
    fail('INPUT_NOT_TEXT', `byte ${bytes.indexOf(0) + 1} is NUL: this is no text file`, {
      at: { file },
      hint: 'a SINEX file, not compressed',
    });
  return new TextDecoder('latin1').decode(bytes);
}

function linesOf(text: string): Line[] {
  return text.split(/\r?\n/).map((line, i) => ({ number: i + 1, text: line }));
}

/** The first line says that it is SINEX, the last that it is whole. */
function checkFrame(lines: readonly Line[], file: string): void {
  const first = lines[0]!.text;
  if (!/^%=SNX\s+[12]\.\d\d/.test(first))
    fail('INPUT_ROW', 'the file does not begin as SINEX of version 1 or 2 does', {
      at: { file, line: 1, column: 1 },
      sourceLine: first.slice(0, 80),
      hint: '%=SNX 2.02 ...',
    });
  const last = lines.findLast(({ text }) => text.trim() !== '')!;
  if (!last.text.startsWith('%ENDSNX'))
    fail('INPUT_CUT', 'the file has no line %ENDSNX at its end, so it may be cut', {
      at: { file, line: last.number, column: 1 },
      sourceLine: last.text.slice(0, 80),
      hint: 'the file delivered again, whole',
    });
}

interface Block {
  readonly name: string;
  readonly head: Line;
  readonly lines: readonly Line[];
}

/** Blocks from `+NAME` to `-NAME`; comments (`*`) are left out. */
function blocksOf(lines: readonly Line[], file: string): Block[] {
  const blocks: Block[] = [];
  let open: { name: string; head: Line; lines: Line[] } | undefined;
  for (const line of lines) {
    const { text } = line;
    const at = { file, line: line.number, column: 1 };
    if (text.startsWith('+')) {
      if (open)
        fail('INPUT_ROW', `block ${open.name} is not closed before another one begins`, {
          at,
          hint: `-${open.name}`,
        });
      open = { name: text.slice(1).trim().replace(/\s+/g, ' '), head: line, lines: [] };
    } else if (text.startsWith('-')) {
      const name = text.slice(1).trim().replace(/\s+/g, ' ');
      // Some write the form of a matrix at its head only.
      if (!open || !(open.name === name || open.name.startsWith(`${name} `)))
        return fail('INPUT_ROW', `block ${name} ends where it was not begun`, {
          at,
          hint: open ? `-${open.name}` : `+${name}`,
        });
      blocks.push(open);
      open = undefined;
    } else if (open && text.startsWith(' ') && text.trim() !== '') open.lines.push(line);
  }
  if (open)
    fail('INPUT_CUT', `block ${open.name} is not closed`, {
      at: { file, line: open.head.number, column: 1 },
      hint: `-${open.name}`,
    });
  return blocks;
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
