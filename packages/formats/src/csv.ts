import { parse, type CastingContext, CsvError } from 'csv-parse/browser/esm/sync';
import { fail, problem, type Problem } from '@stillmark/problems';
import { decodeText } from './text.ts';

/** One row of a CSV file: its fields, the line on which it begins, and its text. */
export interface CsvRecord {
  readonly fields: readonly string[];
  readonly line: number;
  readonly raw: string;
}

/** A row that was not taken: the problem says where and why, `text` is the row as it stands in the file. */
export interface RejectedRow {
  readonly problem: Problem;
  readonly line: number;
  readonly text: string;
}

export interface CsvFile<Column extends string> {
  readonly header: CsvRecord;
  readonly body: readonly CsvRecord[];
  readonly index: ReadonlyMap<Column, number>;
  readonly delimiter: string;
  /** Line of the last row where no line end follows it. */
  readonly cutLine?: number;
}

/**
 * Reads CSV (RFC 4180; UTF-8, comma, header line) as far as its header and its fields.
 *
 * @param columns names of the columns that are needed; or what finds them in the header line
 * @param delimiter one character between fields
 * @throws INPUT_NOT_TEXT, INPUT_EMPTY, INPUT_COLUMN, INPUT_ROW where the file as a whole cannot be used
 */
export function readCsv<Column extends string>(
  bytes: Uint8Array,
  file: string,
  columns:
    Readonly<Record<Column, string>> | ((header: readonly string[]) => Readonly<Record<Column, string>>),
  delimiter = ',',
): CsvFile<Column> {
  const text = decodeText(bytes, file);
  if (text.includes('\r') && /\r(?!\n)/.test(text)) {
    const line = text.slice(0, text.search(/\r(?!\n)/)).split('\n').length;
    fail('INPUT_NOT_TEXT', 'a line ends with a carriage return alone', {
      at: { file, line },
      hint: 'lines that end with a line feed, or with carriage return and line feed',
    });
  }
  const [header, ...body] = parseRecords(text, file, delimiter);
  if (!header)
    return fail('INPUT_EMPTY', 'the file is empty', {
      at: { file },
      hint: 'a header line and rows',
    });
  const wanted = typeof columns === 'function' ? columns(header.fields) : columns;
  const index = locateColumns(header, file, wanted, delimiter);
  if (body.length === 0)
    fail('INPUT_EMPTY', 'the file has a header line and no rows', { at: { file, line: 1 } });
  const ended = text.slice(text.trimEnd().length).includes('\n');
  const cutLine = ended ? undefined : body.at(-1)?.line;
  return { header, body, index, delimiter, ...(cutLine === undefined ? {} : { cutLine }) };
}

/** Where no field is quoted, CSV is lines and commas, and most files are; quotes are left to the library. */
function parseRecords(text: string, file: string, delimiter: string): CsvRecord[] {
  return text.includes('"') ? parseQuoted(text, file, delimiter) : parsePlain(text, delimiter);
}

function parsePlain(text: string, delimiter: string): CsvRecord[] {
  const records: CsvRecord[] = [];
  // Most files have no white space but their line ends, and nothing to trim.
  const padded = (delimiter === '\t' ? /[^\S\r\n\t]/ : /[^\S\r\n]/).test(text);
  for (let from = 0, line = 1; from < text.length; line++) {
    const end = text.indexOf('\n', from);
    const to = end < 0 ? text.length : end;
    const raw = text.slice(from, to > from && text[to - 1] === '\r' ? to - 1 : to);
    if ((padded ? raw.trim() : raw) !== '') {
      const fields = raw.split(delimiter);
      records.push({ fields: padded ? fields.map((field) => field.trim()) : fields, line, raw });
    }
    from = to + 1;
  }
  return records;
}

function parseQuoted(text: string, file: string, delimiter: string): CsvRecord[] {
  try {
    const parsed = parse(text, {
      delimiter: [delimiter],
      relaxColumnCount: true,
      relaxQuotes: true,
      skipEmptyLines: true,
      trim: true,
      info: true,
      raw: true,
      recordDelimiter: ['\r\n', '\n'],
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

function locateColumns<Column extends string>(
  header: CsvRecord,
  file: string,
  columns: Readonly<Record<Column, string>>,
  delimiter: string,
): ReadonlyMap<Column, number> {
  const missing: string[] = [];
  const index = new Map<Column, number>();
  const names = Object.entries(columns) as [Column, string][];
  const at = { file, line: header.line, column: 1 };
  for (const [column, name] of names) {
    const place = header.fields.indexOf(name);
    if (place < 0) missing.push(name === column ? name : `${name} (${column})`);
    else index.set(column, place);
    if (header.fields.lastIndexOf(name) !== place) {
      fail('INPUT_COLUMN', `the file has two columns ${name}`, {
        at: { ...at, column: columnOf(header.raw, header.fields.lastIndexOf(name), delimiter) },
        sourceLine: header.raw,
        hint: 'each name once',
      });
    }
  }
  if (missing.length > 0) {
    fail('INPUT_COLUMN', `the file has no column ${missing.join(', ')}`, {
      at,
      sourceLine: header.raw,
      hint: `the columns that the project file declares; the file has ${header.fields.join(', ')}${otherDelimiter(header)}`,
    });
  }
  return index;
}

/** Of a header that is one field and looks as if it were several. */
function otherDelimiter({ fields }: CsvRecord): string {
  const [own] = fields;
  const other = fields.length === 1 ? [';', '\t', '|', ','].find((sign) => own!.includes(sign)) : undefined;
  return other === undefined
    ? ''
    : `; if these are several, \`dialect: { delimiter: ${other === '\t' ? 'tab' : `'${other}'`} }\``;
}

/** A problem of one field of a row. */
export type Say = (code: Problem['code'], message: string, field: number, hint?: string) => Problem;

/**
 * Takes each row of a file that has as many fields as its header to `read`. A row that is cut, or of which `read` finds a
 * problem, is rejected; the others are kept.
 */
export function readRows<Column extends string, Row extends object>(
  csv: CsvFile<Column>,
  file: string,
  read: (
    field: (column: Column) => string,
    place: (column: Column) => number,
    say: Say,
    record: CsvRecord,
  ) => Row | Problem,
): { rows: Row[]; rejected: RejectedRow[] } {
  const rows: Row[] = [];
  const rejected: RejectedRow[] = [];
  // Made once: files have millions of rows.
  let record = csv.header;
  const say: Say = (code, message, field, hint) =>
    problem(code, message, {
      at: { file, line: record.line, column: columnOf(record.raw, field, csv.delimiter) },
      sourceLine: record.raw,
      ...(hint ? { hint } : {}),
    });
  const place = (column: Column): number => csv.index.get(column)!;
  const field = (column: Column): string => record.fields[place(column)]!;
  for (record of csv.body) {
    const { line, raw } = record;
    const found =
      shapeFault(record, csv.header.fields.length, line === csv.cutLine, say) ??
      read(field, place, say, record);
    if ('code' in found) rejected.push({ problem: found, line, text: raw });
    else rows.push(found);
  }
  return { rows, rejected };
}

function shapeFault({ fields }: CsvRecord, width: number, cut: boolean, say: Say): Problem | undefined {
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
  if (!cut) return undefined;
  return say(
    'INPUT_CUT',
    'the last row has no line end, so the file may be cut there',
    width - 1,
    'a line end after the last row, where it is whole',
  );
}

/** The number that a field (without white space about it) holds in decimal digits, or undefined. */
export function numberIn(text: string): number | undefined {
  const value = Number(text);
  if (!Number.isFinite(value) || text === '') return undefined;
  // Number also takes 0x1f, 0b11 and 0o17, which no instrument writes and no person means.
  return text.charCodeAt(1) > afterDigits && /^0[xXbBoO]/.test(text) ? undefined : value;
}

/** The last code of a digit: letters come after. */
const afterDigits = 57;

/** Column of the text, from 1, at which a field begins; 1 where quotes make that unsure. */
function columnOf(raw: string, field: number, delimiter: string): number {
  if (raw.includes('"')) return 1;
  let at = 0;
  for (let i = 0; i < field; i++) {
    const comma = raw.indexOf(delimiter, at);
    if (comma < 0) break;
    at = comma + 1;
  }
  return at + 1;
}
