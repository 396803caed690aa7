import { source } from '@stillmark/data/synthetic/noise.ts';
import { expectClose } from '@stillmark/tooling/close';
import { describe, expect, test } from 'vitest';
import { hampel, holmAdjust, madToSigma, median } from './index.ts';

describe('robust statistics', () => {
  test('median of odd, even, single and no values', () => {
    expect(median(Float64Array.of(3, 1, 2))).toBe(2);
    expect(median(Float64Array.of(4, 1, 3, 2))).toBe(2.5);
    expect(median(Float64Array.of(7))).toBe(7);
    expect(() => median(new Float64Array(0))).toThrow(/no values/);
  });

  test('of many values, in order or not, equal or not, the median is the middle of the sorted ones', () => {
    const random = source(8);
    for (const n of [31, 32, 33, 100, 1001, 4000])
      for (const of of [
        () => random.normal(),
        () => Math.round(3 * random.normal()),
        (i: number) => i,
        (i: number) => -i,
        (i: number) => Math.abs(i - n / 2),
        () => 7,
        (i: number) => (i === 5 ? Number.NaN : random.normal()),
        (i: number) => (i % 9 === 0 ? Number.NEGATIVE_INFINITY : random.normal()),
      ]) {
        const values = Float64Array.from({ length: n }, (_, i) => of(i));
        const given = values.slice();
        const sorted = values.slice().sort();
        const middle = n >> 1;
        expect(median(values)).toBe(
          n % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2,
        );
        expect(values).toEqual(given);
      }
  });

  test('the MAD factor is the inverse of the normal quantile at 0.75', () => {
    expectClose(madToSigma, 1 / 0.6744897501960817, { within: 1e-15 });
  });

  // Herndon's fifteen Venus semidiameters (public domain; as in Chauvenet, and Barnett and Lewis, Outliers in Statistical
  // Data): the value under suspicion since 1846 is -1.40. Its robust z is 3.6 from 0.06, the next one (1.01) is 2.3.
  const herndon = [
    -0.3, -0.44, 1.01, 0.48, 0.63, -0.24, -0.13, -1.4, -0.22, -0.05, 0.06, 0.2, 0.18, 0.1, 0.39,
  ];

  test('the Hampel identifier marks the suspicious value of the classic outlier set, and its side', () => {
    const side = hampel(Float64Array.from(herndon), 7, 3, 0);
    expect([...side]).toEqual(herndon.map((v) => (v === -1.4 ? -1 : 0)));
  });

  test('a constant series with one spike needs the floor to have a width', () => {
    const values = new Float64Array(40).fill(5);
    values[20] = 5.004;
    expect(hampel(values, 6, 4, 0.0005)[20]).toBe(1);
    expect(hampel(values, 6, 4, 0.01)[20]).toBe(0);
  });

  test.each([4, 24, 60])(
    'the sliding window gives what sorting each window anew gives (half of %i)',
    (half) => {
      const random = source(half);
      // Rounded, so that many values are equal, and with jumps.
      const values = Float64Array.from(
        { length: 400 },
        (_, i) => Math.round(2 * random.normal() + (i > 200 ? 7 : 0) + (i % 37 === 0 ? 15 : 0)) / 2,
      );
      const width = Math.min(values.length, 2 * half + 1);
      const expected = Array.from(values, (v, i) => {
        const from = Math.min(Math.max(0, i - half), values.length - width);
        const around = values.subarray(from, from + width);
        const centre = median(around);
        const sigma = Math.max(0.1, madToSigma * median(around.map((x) => Math.abs(x - centre))));
        return Math.abs(v - centre) > 2.5 * sigma ? Math.sign(v - centre) : 0;
      });
      expect([...hampel(values, half, 2.5, 0.1)]).toEqual(expected);
      expect(expected.filter((s) => s !== 0).length).toBeGreaterThan(5);
    },
  );

  test('fewer than five values are not judged', () => {
    expect([...hampel(Float64Array.of(0, 0, 900, 0), 6, 4, 0.1)]).toEqual([0, 0, 0, 0]);
  });
});

describe('several tests together (Holm 1979)', () => {
  test('agrees with R: p.adjust(c(0.01, 0.04, 0.03, 0.005), "holm")', () => {
    expectClose(holmAdjust([0.01, 0.04, 0.03, 0.005]), [0.03, 0.06, 0.06, 0.02], { within: 1e-15 });
  });

  test('one test is not changed, and nothing exceeds 1', () => {
    expect(holmAdjust([0.2])).toEqual([0.2]);
    expect(holmAdjust([0.9, 0.8])).toEqual([1, 1]);
    expect(holmAdjust([])).toEqual([]);
  });
});
