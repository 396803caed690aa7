import { describe, expect, test } from 'vitest';
import { readTestField } from './index.ts';

const read = (...lines: string[]) =>
  readTestField(new TextEncoder().encode(`${lines.join('\n')}\n`), 'field.csv');

describe('measurements of a test field', () => {
  test('columns in any order, others passed over', () => {
    const { rows, rejected } = read('time,point,set,series,h,y,x', '2026-03-01,2,4,1,0.5,-1.25,10.001');
    expect(rows).toEqual([{ series: 1, set: 4, point: 2, x: 10.001, y: -1.25, h: 0.5 }]);
    expect(rejected).toEqual([]);
  });
  test.each([
    ['1,1,3,0,0,0', /point 3 is neither 1 nor 2/, 5],
    ['0,1,1,0,0,0', /series 0 is not a whole number/, 1],
    ['1,1.5,1,0,0,0', /set 1.5 is not a whole number/, 3],
    ['1,1,1,0,0,', /'' is not a number \(h\)/, 11],
  ])('%s', (row, message, column) => {
    const { rows, rejected } = read('series,set,point,x,y,h', row);
    expect(rows).toEqual([]);
    expect(rejected[0]!.problem.message).toMatch(message);
    expect(rejected[0]!.problem.at).toEqual({ file: 'field.csv', line: 2, column });
  });
  test('a missing column is named', () =>
    expect(() => read('series,set,point,x,y', '1,1,1,0,0')).toThrow(/h/));
});
