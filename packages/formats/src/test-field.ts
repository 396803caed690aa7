import { numberIn, readCsv, readRows, type RejectedRow } from './csv.ts';

/** One measurement of a rover point of a test field, metres; series and sets count from 1. */
export interface TestFieldRow {
  readonly series: number;
  readonly set: number;
  readonly point: 1 | 2;
  readonly x: number;
  readonly y: number;
  readonly h: number;
}

const columns = { series: 'series', set: 'set', point: 'point', x: 'x', y: 'y', h: 'h' } as const;

/**
 * Reads the measurements of a test field from CSV (RFC 4180; UTF-8, comma, header line): columns series, set, point (1 or 2), x, y and h in
 * metres on a plane, others are passed over.
 *
 * @throws INPUT_NOT_TEXT, INPUT_EMPTY, INPUT_COLUMN, INPUT_ROW where the file as a whole cannot be used
 */
export function readTestField(
  bytes: Uint8Array,
  file: string,
): { rows: readonly TestFieldRow[]; rejected: readonly RejectedRow[] } {
  const csv = readCsv(bytes, file, columns);
  return readRows(csv, file, (field, place, say) => {
    const values: Record<string, number> = {};
    for (const name of ['series', 'set', 'point', 'x', 'y', 'h'] as const) {
      const value = numberIn(field(name));
      if (value === undefined)
        return say('INPUT_NUMBER', `'${field(name)}' is not a number (${name})`, place(name), 'a number with a decimal point'); // prettier-ignore
      if ((name === 'series' || name === 'set') && !(Number.isInteger(value) && value > 0))
        return say('INPUT_NUMBER', `${name} ${field(name)} is not a whole number from 1`, place(name));
      if (name === 'point' && value !== 1 && value !== 2)
        return say('INPUT_NUMBER', `point ${field(name)} is neither 1 nor 2`, place(name), 'the two rover points of the test field'); // prettier-ignore
      values[name] = value;
    }
    return values as unknown as TestFieldRow;
  });
}
