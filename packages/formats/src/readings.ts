import type { ReadingRow, TimeScale } from '@stillmark/records';
import { numberIn, readCsv, readRows, type RejectedRow } from './csv.ts';
import { timeIn } from './positions.ts';

export interface ReadingsTask {
  readonly sensor: string;
  readonly timeScale: TimeScale;
  /** Header of each column in the file. */
  readonly columns: { readonly time: string; readonly value: string };
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
  const csv = readCsv(bytes, file, task.columns);
  const silent = { sensor: '', timeMs: 0, value: 0 };
  const { rows, rejected } = readRows<'time' | 'value', ReadingRow>(csv, file, (field, place, say) => {
    const time = timeIn(field('time'), place('time'), task, say);
    if (typeof time !== 'number') return time;
    if (field('value') === '') return silent;
    const value = numberIn(field('value'));
    if (value === undefined)
      return say(
        'INPUT_NUMBER',
        `'${field('value')}' is not a number`,
        place('value'),
        'a number with a decimal point',
      );
    return { sensor: task.sensor, timeMs: time, value };
  });
  return { rows: rows.filter((row) => row !== silent), rejected };
}
