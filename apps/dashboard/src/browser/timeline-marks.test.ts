import { describe, expect, test } from 'vitest';
import { marksOf, nearestMark, readingOf } from './timeline-marks.ts';

describe('values of a drawn timeline', () => {
  const marks = marksOf('M10 50h0m2.5-9.5v20.5m17.5-41v-2');

  test('dots and columns are read from the path, whichever way a column was drawn, by places or by differences', () => {
    expect(marks).toEqual([
      { x: 10, low: 50, high: 50 },
      { x: 12.5, low: 61, high: 40.5 },
      { x: 30, low: 20, high: 18 },
    ]);
    expect(marksOf('M30 20v-2M10 50h0M12.5 40.5v20.5')).toEqual(marks);
  });

  test('the nearest mark counts, and none where the series has a gap', () => {
    expect(nearestMark(marks, 13, 5)?.x).toBe(12.5);
    expect(nearestMark(marks, 21, 5)).toBeUndefined();
    expect(nearestMark([], 21, 5)).toBeUndefined();
  });

  test('pixels become millimetres upward from zero', () => {
    const panel = { name: 'up', marks, zero: 50, pxPerMm: 10 };
    expect(readingOf(panel, marks[0]!)).toBe('up 0.0\u202fmm');
    expect(readingOf(panel, marks[1]!)).toBe('up \u22121.1 to 0.9\u202fmm');
  });
});
