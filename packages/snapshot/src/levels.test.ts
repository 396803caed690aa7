import { describe, expect, test } from 'vitest';
import type { StationSeries } from '@stillmark/records';
import { leastAndGreatest, levelLengths, levelsOf, levelWithin } from './levels.ts';

type Epochs = StationSeries['epochs'];

/** Epochs five minutes apart with gaps, single ones that are set aside, and some that came twice. */
function invented(n: number): Epochs {
  const column = (f: (i: number) => number): Float64Array => Float64Array.from({ length: n }, (_, i) => f(i));
  return {
    timesMs: column((i) => Date.parse('2026-01-01T00:02:30Z') + 300_000 * (i + Math.floor(i / 400) * 500)),
    east_mm: column((i) => 10 * Math.sin(i * i)),
    north_mm: column((i) => i / 1000 + Math.cos(7 * i)),
    up_mm: column((i) => (i % 97 === 0 ? 80 : Math.sin(i))),
    flag: Uint8Array.from({ length: n }, (_, i) =>
      i % 97 === 0 ? 1 : i % 101 === 0 ? 2 : i % 103 === 0 ? 3 : 0,
    ),
  };
}

/** The same by definition: every bin filtered out of all epochs. */
function byDefinition({ timesMs, flag, ...columns }: Epochs, binMs: number): Map<string, number[]> {
  const bins = new Map<string, number[][]>();
  timesMs.forEach((t, i) => {
    if (flag[i] === 3) return;
    const key = `${Math.floor(t / binMs)} ${flag[i] === 0 ? 'used' : 'aside'}`;
    bins.set(key, [...(bins.get(key) ?? []), Object.values(columns).map((c) => c[i]!)]);
  });
  return new Map(
    [...bins].map(([key, rows]) => [
      key,
      rows[0]!.flatMap((_, k) => [Math.min(...rows.map((r) => r[k]!)), Math.max(...rows.map((r) => r[k]!))]),
    ]),
  );
}

const asMap = ({ timesMs, flag, ...columns }: Epochs, binMs: number): Map<string, number[]> => {
  const bins = new Map<string, number[]>();
  timesMs.forEach((t, i) => {
    const key = `${Math.floor(t / binMs)} ${flag[i] === 0 ? 'used' : 'aside'}`;
    const row = Object.values(columns).map((c) => c[i]!);
    const low = bins.get(key);
    // The first row of a bin holds the least values, the second the greatest.
    bins.set(
      key,
      low ? low.map((v, k) => (k % 2 === 0 ? v : row[(k - 1) / 2]!)) : row.flatMap((v) => [v, v]),
    );
  });
  return bins;
};

describe('levels of a long series', () => {
  const epochs = invented(40_000);

  test('hold the least and the greatest of each bin, of epochs that are used and of those that are set aside', () => {
    for (const binMs of [900_000, 3_840_000, 61_440_000])
      expect(asMap(leastAndGreatest(epochs, binMs), binMs)).toEqual(byDefinition(epochs, binMs));
  });

  test('made of one another are those of the epochs, in order of time, and get shorter', () => {
    const levels = levelsOf(epochs);
    expect(levels.map(({ binMs }) => binMs)).toEqual(levelLengths(epochs));
    expect(levels.length).toBeGreaterThan(1);
    for (const { binMs, epochs: level } of levels) {
      expect(asMap(level, binMs)).toEqual(byDefinition(epochs, binMs));
      expect(level.timesMs.every((t, i) => i === 0 || t >= level.timesMs[i - 1]!)).toBe(true);
    }
    const rows = levels.map((level) => level.epochs.timesMs.length);
    expect(rows).toEqual(rows.toSorted((a, b) => b - a));
    expect(rows[0]!).toBeLessThan(0.35 * epochs.timesMs.length);
    expect(rows.at(-1)!).toBeLessThan(3500);
  });

  test('a short series has none, and an empty one neither', () => {
    expect(levelLengths(invented(29_999))).toEqual([]);
    expect(levelsOf(invented(0))).toEqual([]);
    expect(levelWithin(invented(0), 10).binMs).toBe(0);
  });

  test('one that fits into so many rows is the epochs themselves where these do', () => {
    const few = invented(500);
    expect(levelWithin(few, 500)).toEqual({ binMs: 0, epochs: few });
    const level = levelWithin(epochs, 2000);
    expect(level.epochs.timesMs.length).toBeLessThanOrEqual(2000 * 1.1);
    expect(asMap(level.epochs, level.binMs)).toEqual(byDefinition(epochs, level.binMs));
  });
});
