import { formatProblem } from '@stillmark/problems';
import { describe, expect, test } from 'vitest';
import { readReadings, usualDialect, type ReadingsTask } from './index.ts';

const task: ReadingsTask = {
  sensor: 'reservoir',
  timeScale: 'UTC',
  columns: { time: 'time', value: 'level' },
  dialect: usualDialect,
  latestMs: Date.parse('2026-12-01T00:00:00Z'),
};
const read = (text: string): ReturnType<typeof readReadings> =>
  readReadings(new TextEncoder().encode(text), 'sensors/reservoir.csv', task);

describe('sensor logs in CSV', () => {
  test('a reading a row, in any order of columns; a silent sensor is no fault', () => {
    const { rows, rejected } = read(
      'level,battery,time\n301.25,12.1,2026-03-01T06:00:00Z\n,11.9,2026-03-01T07:00:00Z\n-0.5,11.8,2026-03-01T08:00:00+01:00\n',
    );
    expect(rejected).toEqual([]);
    expect(rows).toEqual([
      { sensor: 'reservoir', timeMs: Date.parse('2026-03-01T06:00:00Z'), value: 301.25 },
      { sensor: 'reservoir', timeMs: Date.parse('2026-03-01T07:00:00Z'), value: -0.5 },
    ]);
  });

  test('a word, a time without zone and a cut row are told, and the others are read', () => {
    const { rows, rejected } = read(
      'time,level\n2026-03-01T06:00:00Z,high\n2026-03-01T07:00:00,1\n2026-03-01T08:00:00Z,2\n2026-03-01T09:00:00Z,2',
    );
    expect(rows.length).toBe(1);
    expect(rejected.map(({ problem }) => formatProblem(problem).split('\n')[0])).toEqual([
      'sensors/reservoir.csv:2:22 error INPUT_NUMBER',
      'sensors/reservoir.csv:3:1 error INPUT_TIME',
      'sensors/reservoir.csv:5:22 error INPUT_CUT',
    ]);
  });

  test('a missing column is named', () => {
    expect(() => read('time,stage\n2026-03-01T06:00:00Z,1\n')).toThrow(/no column level \(value\)/);
  });
});
