import type { ReadingRow, TimeScale } from '@stillmark/records';
import { readCsv, readRows, type RejectedRow } from './csv.ts';
import { DialectReader, type Dialect } from './dialect.ts';
import { timeIn } from './positions.ts';

export interface ReadingsTask {
  readonly sensor: string;
  readonly timeScale: TimeScale;
  /** Header of each column in the file. */
  readonly columns: { readonly time: string; readonly value: string };
  readonly dialect: Dialect;
  /** No reading can be later than this, in milliseconds of UTC. */
  readonly latestMs: number;
}

/**
 * Reads the log of a sensor from CSV (RFC 4180; UTF-8, comma, header line): one reading a row. An empty value is no reading
 * and no fault: loggers write it when a sensor was silent.
 *
 * @throws INPUT_NOT_TEXT, INPUT_EMPTY, INPUT_COLUMN, INPUT_ROW where the file as a whole cannot be used
 */
export function readReadings(
  bytes: Uint8Array,
  file: string,
  task: ReadingsTask,
): { rows: ReadingRow[]; rejected: RejectedRow[] } {
  const csv = readCsv(bytes, file, task.columns, task.dialect.delimiter);
  const text = new DialectReader(task.dialect, task.timeScale);
  const silent = { sensor: '', timeMs: 0, value: 0 };
  const { rows, rejected } = readRows<'time' | 'value', ReadingRow>(csv, file, (field, place, say) => {
    const time = timeIn(field('time'), place('time'), task, say, text);
    if (typeof time !== 'number') return time;
    if (field('value') === '') return silent;
    const value = text.number(field('value'));
    if (value === undefined)
      return say('INPUT_NUMBER', `'${field('value')}' is not a number`, place('value'), text.hints.number);
    return { sensor: task.sensor, timeMs: time, value };
  });
  return { rows: rows.filter((row) => row !== silent), rejected };
}
